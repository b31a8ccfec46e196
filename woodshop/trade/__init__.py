"""Trade: orders, buying, the cost of a run, prices and quotes. Money is in whole minor units."""
