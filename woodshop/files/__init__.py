"""Reads files that a person names, within limits; writes files and folders completely or not at all."""
