"""Check motors against the selection rules, for a single job or for many jobs at once."""
