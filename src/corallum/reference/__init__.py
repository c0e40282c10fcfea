"""The genera, the characters and their values, as a person wrote them."""
