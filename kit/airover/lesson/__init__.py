"""Provide lessons, exercises, test papers and grading."""
