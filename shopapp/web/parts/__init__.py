"""The simple list of parts and their labels."""
