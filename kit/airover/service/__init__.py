"""Work order, cause of failure, and verification of the new motor."""
