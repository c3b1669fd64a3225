"""Pictures (matplotlib): direct labels, units on both axes, readable in grey and in print."""
