"""Facts of the trade: TOML rows, each with its source, and typed functions that read them."""
