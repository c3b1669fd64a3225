"""What trucks and counter carry, planned from a history of calls and tried on it."""
