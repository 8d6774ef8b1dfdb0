"""Customers, their boats and engines."""
