"""Structured Descriptive Data 1.1 of the TDWG: the reference out and in."""
