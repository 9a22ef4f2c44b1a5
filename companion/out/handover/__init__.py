"""What the next person at the loom needs to know: who did what, at what pace, and what is left."""
