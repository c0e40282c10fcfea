"""Archives in the text form of Darwin Core: tables, their description, and one zip of them."""
