"""Tells a watchdog that the app answers."""
