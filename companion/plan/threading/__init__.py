"""How a threading is written: the notation and the threadings with a name."""
