"""Numbered steps from one version of the tables to the next; each is one transaction."""
