"""Messages, errors, units, intervals, files and texts used by all other subpackages."""
