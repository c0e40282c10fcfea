"""The one probabilistic model, and the questions that it answers."""
