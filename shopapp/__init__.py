"""A web app for a small outboard shop."""

import os

# each worker has one processor: more threads for small matrices only wait for each other
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
