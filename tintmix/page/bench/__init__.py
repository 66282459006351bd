"""What the screens at the bench show and keep: recipe, batch sheet, trial chip, recipe book."""
