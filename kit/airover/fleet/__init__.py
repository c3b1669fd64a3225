"""A table of units, of any size, screened against a catalogue: best motors, margins, failures."""
