"""In and out: texts that other programs write and read."""
