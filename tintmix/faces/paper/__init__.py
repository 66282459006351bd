"""The sheets as PDF and as text."""
