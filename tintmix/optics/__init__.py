"""Light through tinted resin: numbers in, numbers out. Knows no pigment, no file but its own tables, no clock."""
