"""Provide forms, panels, the web page, its server and the command line."""
