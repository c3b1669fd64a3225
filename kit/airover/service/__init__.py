"""Write work orders, find the cause of a failure, and verify a new motor."""
