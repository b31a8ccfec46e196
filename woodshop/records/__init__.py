"""The shop's book: every event, in order, in one file that is kept longer than any plan."""
