"""The workshop: what goes on the scale, the sheet that says so, and the book that keeps it."""
