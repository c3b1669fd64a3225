"""One winding's heat: where it comes from, how it moves in time, how it ages the winding."""
