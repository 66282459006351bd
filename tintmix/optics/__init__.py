"""Light through tinted resin: numbers in, numbers out. numpy only; knows no pigment, no file but its own tables, no
clock.
"""
