"""The body map as terminal cells, plain text, SVG and PNG: domain values in, picture out."""
