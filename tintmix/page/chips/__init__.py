"""Chip sets on the page: shown, changed, uploaded, and read from photos."""
