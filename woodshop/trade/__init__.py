"""Trade: orders, buying, the cost of a run, prices and quotes; money in whole minor units."""
