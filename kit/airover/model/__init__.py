"""Motor identification, job conditions, and simulation of a motor with its fan."""
