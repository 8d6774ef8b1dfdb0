"""The start page of the desk: what came in, what is promised, what waits and who chases."""
