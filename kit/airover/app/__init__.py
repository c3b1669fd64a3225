"""Provide forms, panels, the page, its server and the command line."""
