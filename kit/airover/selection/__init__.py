"""Check motors against the selection rules, for one job or many jobs at once."""
