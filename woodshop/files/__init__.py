"""Reading files that a person names, within limits; writing files and folders whole, and losing nothing."""
