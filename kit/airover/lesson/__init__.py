"""Exercises, question bank, papers and their marking."""
