"""Sourced tables, their types and the loader."""
