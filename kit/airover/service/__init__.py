"""Work orders, failure diagnosis, and verification of a new motor."""
