"""Equations and kernels: numbers and arrays in, numbers and arrays out."""
