"""Physical equations and compiled kernels that take and return numbers and arrays."""
