"""The batch sheet as a value: typed lines in the order of work, what it will look like, and the cautions."""
