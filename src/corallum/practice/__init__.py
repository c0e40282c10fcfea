"""Practice: ability, difficulty, forgetting, and what to show next. Arrays in, records out."""
