"""Ball or sleeve: the two kinds of bearing side by side in the place of one motor."""
