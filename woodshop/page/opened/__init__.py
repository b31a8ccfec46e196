"""The open designs of the page: one for each file, shared by all its tabs."""
