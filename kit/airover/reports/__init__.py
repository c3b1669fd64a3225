"""Tables, figures, texts and typeset documents, one module per subject."""
