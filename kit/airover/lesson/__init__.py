"""Lessons, exercises, tests and grading."""
