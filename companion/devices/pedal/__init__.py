"""Keys of the terminal and foot pedals: from presses to the text of a command."""
