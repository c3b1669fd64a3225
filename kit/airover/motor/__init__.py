"""Motors put to work: what blade and site ask, what a motor does there, how warm it gets."""
