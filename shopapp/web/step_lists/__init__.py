"""The shop's step lists."""
