"""Calculate life costs, proposals, truck stock and fleets."""
