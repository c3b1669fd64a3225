"""Messages, errors, ranges, units, intervals, files and texts used by all other packages."""
