"""The files of routes/, in the order of the job. A screen that is added is a line here."""

SCREENS = ("home", "tint", "chips", "chip", "pigments", "recipes", "photo", "sheet", "trial", "book")
