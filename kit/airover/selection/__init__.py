"""Check table, answer, and the same table for many jobs at once."""
