"""Words into sound: synthesis in a child process, the store of clips, and the voice."""
