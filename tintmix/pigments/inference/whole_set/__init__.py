"""Whether the whole set was read or written otherwise than it says: ideas, first looks at them, and what is told."""
