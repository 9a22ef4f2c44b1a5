"""The draft written out: every end, tie and pick of a plan."""
