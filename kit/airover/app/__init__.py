"""Forms, panels, page, server and command line."""
