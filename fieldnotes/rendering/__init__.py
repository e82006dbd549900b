"""Domain values in, text or bytes out."""
