"""What leaves the walk: paper, pictures, the board, hand-overs and reports."""
