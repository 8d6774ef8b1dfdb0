"""Photos, served only to those who may see their work order."""
