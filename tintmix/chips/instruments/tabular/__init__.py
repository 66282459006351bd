"""Delimited text: its cells, its tables, and what they hold."""
