"""Work orders: the whole story of a visit, and the work on its jobs."""
