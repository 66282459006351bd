"""What is asked at the bench: batch sheet, trial, lot, a dose in other words."""
