"""How long the two bearings of a motor last in its place on the job."""
