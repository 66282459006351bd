"""What goes on the scale: scales, rounding, stock bottles, doses in other words, and how far off a weighing may be."""
