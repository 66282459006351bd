"""What was read, put into a set: which sample is which chip, and what is remembered of it."""
