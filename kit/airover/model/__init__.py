"""Identification, job conditions, and the simulation of a motor with its fan."""
