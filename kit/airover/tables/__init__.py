"""Tables (pandas), in the reader's units."""
