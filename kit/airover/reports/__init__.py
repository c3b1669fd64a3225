"""Answers told to people: text for a terminal, pages to print, files in a folder."""
