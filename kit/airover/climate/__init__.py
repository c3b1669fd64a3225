"""The weather of a place, hour by hour, and how long and how hard a unit runs in it."""
