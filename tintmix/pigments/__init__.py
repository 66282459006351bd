"""What the chips taught: the fit, its checks and doubts, the model, and the model as a file."""
