"""Frozen records of the trade: no I/O, no clock, nothing but the standard library."""
