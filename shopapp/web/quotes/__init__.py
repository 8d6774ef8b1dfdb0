"""Writing, sending and handing over quotes."""
