"""The customer's own page: read, choose, sign."""
