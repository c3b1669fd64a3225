"""Bad input, thrown at every entrance: see DEVELOPERS.md, "Bad input"."""
