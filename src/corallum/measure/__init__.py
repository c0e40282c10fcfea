"""Sizes from pictures: scale, plane, sizes by hand and by program. Arrays in, records out."""
