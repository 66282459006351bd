"""Readings into a chip set: from instruments' files, typed colours, photos."""
