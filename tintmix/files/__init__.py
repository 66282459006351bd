"""The only reader and writer of text: TOML, tables, canonical JSON; checked in one way, written whole or not at all."""
