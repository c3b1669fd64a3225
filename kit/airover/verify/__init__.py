"""A motor that runs, measured: readings beside what was expected, faults, what to read next."""
