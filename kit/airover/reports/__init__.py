"""Write tables, figures, text and typeset documents, with one module per subject."""
