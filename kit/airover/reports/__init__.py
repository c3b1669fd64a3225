"""Write tables, figures, texts and typeset documents, with one module per subject."""
