"""A file for each screen: what it shows, and what is done on it."""
