"""The board: the walk as a page for a tablet at the loom, beside terminal, voice and pedal."""
