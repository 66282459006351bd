"""A tinted part that was tried and is off: what to do about it."""
