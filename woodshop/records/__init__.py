"""The shop's own book: what happened, in order, in one file that outlives any plan."""
