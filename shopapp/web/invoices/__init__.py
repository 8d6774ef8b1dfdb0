"""Invoices and payments."""
