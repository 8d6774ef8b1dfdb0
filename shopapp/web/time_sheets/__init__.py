"""Time sheets: who was on what, and clocks that were forgotten."""
