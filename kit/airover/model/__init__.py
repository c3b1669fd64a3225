"""Nameplate to circuits, job to load and air, and the one simulation of a motor on its fan."""
