"""The bench: a technician's jobs on a tablet, also without a connection."""
