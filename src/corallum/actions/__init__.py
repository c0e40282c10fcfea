"""One function for each thing a user can do; the shells only call these."""
