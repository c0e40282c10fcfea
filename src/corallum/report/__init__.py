"""Reports, sheets and the page for a phone."""
