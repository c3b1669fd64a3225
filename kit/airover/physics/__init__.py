"""Numbers and arrays in, numbers and arrays out: one module per physical subject."""
