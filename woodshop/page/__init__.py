"""The page: the whole job in a browser on this computer, with the same library calls as the command line."""
