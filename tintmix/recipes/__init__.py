"""Pure choices: a model and a target to ranked recipes, or to why there is none."""
