"""Reads files named by the user, within limits; writes files and folders completely or not at all."""
