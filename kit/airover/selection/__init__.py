"""The check table, the answer, and the same table for many jobs at once."""
