"""The pages: parse a request, call one action, render."""
