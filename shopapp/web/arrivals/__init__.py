"""Taking a boat in."""
