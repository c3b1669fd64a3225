"""Small faults planted in the code, one at a time, to see whether a test notices."""
