"""Money over the years: energy and failures of each motor that fits, and which one to offer."""
