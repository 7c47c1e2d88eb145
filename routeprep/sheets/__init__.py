"""Paper: a ``Pack`` in, the bytes of a PDF out."""
