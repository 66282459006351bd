"""Photos of chips on a light panel: loaded, places found, glare taken off, channels read."""
