"""One module a feature of the editor, plain data in and out."""
