"""The commands, a file each; `main` imports one when it is called for."""
