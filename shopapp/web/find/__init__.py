"""One box that finds everything."""
