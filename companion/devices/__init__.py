"""What the walk touches: sound, speech, pedals and hearing, each with a small interface."""
