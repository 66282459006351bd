"""The holder sheet: its windows and marks, and where they lie in a photo."""
