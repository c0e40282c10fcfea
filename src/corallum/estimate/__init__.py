"""What a survey says about the reef: cover, density, diversity and change, with their error.

Pure: arrays and records in, records out.
"""
