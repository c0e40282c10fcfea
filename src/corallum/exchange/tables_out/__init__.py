"""A programme as plain tables: one row a record, and a dictionary of every column."""
