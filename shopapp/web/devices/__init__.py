"""Enrolled tablets: the owner's list, who is working, the PIN and the lock."""
