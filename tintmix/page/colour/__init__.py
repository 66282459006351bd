"""What the screens of colour show: pigments, tint, target and the recipes for it, one cup."""
