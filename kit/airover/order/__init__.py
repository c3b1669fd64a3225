"""Work order, its steps, and the warranty of the new motor."""
