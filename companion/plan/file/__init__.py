"""The plan file: TOML, where things stand in it, and what is wrong with it."""
