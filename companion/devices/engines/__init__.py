"""What runs in the child process that makes speech: a worker and its engines."""
