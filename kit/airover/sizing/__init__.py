"""From a blade to a motor: the duty, the rating for it, and what to measure to know better."""
