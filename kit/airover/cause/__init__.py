"""Why the old motor failed: what was seen, and what the models say of it on this job."""
