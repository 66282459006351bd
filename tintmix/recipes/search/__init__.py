"""The doses whose tint comes nearest: starts, descents, polish, choice."""
