"""Puts this folder on the path, so that every room's tests share `builders` and `fakes`."""
