"""Questions for a class: a bank of templates, papers drawn from it, and how answers are marked."""
