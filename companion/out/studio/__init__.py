"""Many looms in one process: each walked on a thread of its own, and a page for the teacher."""
