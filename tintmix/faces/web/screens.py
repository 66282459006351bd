"""The files of routes/. A screen that is added is a word here."""

FIRST = ("home", "tint")
"""What the page begins with, imported before it is served."""
LATER = ("chips", "chip", "pigments", "recipes", "photo", "sheet", "trial", "book")
"""Imported together when one of them is first asked for: 0.3 s for which the first screen need not wait."""
