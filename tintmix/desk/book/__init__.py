"""What is asked of the recipe book."""
