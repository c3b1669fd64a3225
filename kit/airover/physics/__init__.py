"""Physical equations and compiled kernels for numbers and arrays."""
