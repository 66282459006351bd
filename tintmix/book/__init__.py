"""The recipe book: one SQLite file in which recipes, pours and what is on the shelf are kept, and never changed."""
