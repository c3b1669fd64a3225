"""Many jobs and a whole catalogue: which motors would do on each of them, and how surely."""
