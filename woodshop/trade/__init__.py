"""Trade: orders, buying, what a run costs, prices and quotes; money in whole minor units."""
