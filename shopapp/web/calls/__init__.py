"""Call slips and forms put aside."""
