"""What may be billed of a job by the price that was agreed: fixed, at most, or time and material."""
