"""The step lists of the shop."""
