"""Exercises, question bank, papers and grading."""
