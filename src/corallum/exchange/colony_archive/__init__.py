"""Colonies as an archive of Darwin Core: each with all that was ever said of it."""
