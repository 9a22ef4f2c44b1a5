"""Reading a plan: the TOML file, the WIF draft, the threading notation and named threadings."""
