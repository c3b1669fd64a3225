"""The page without code: one job in four steps, for a phone on a roof and a counter."""
