"""Messages, errors, ranges, units, intervals, files and texts: what every other room needs."""
