"""When a sound counts as a command: set apart by silence, of command length, exact and final."""
