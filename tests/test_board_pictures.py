"""The board's pictures are of the board as it is: of these pages, and of what the walk shows."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parent / "bench"))
pytest.importorskip("playwright")

from board_pictures import MADE_FROM, MOMENTS, SHOTS, SIZES, made_from

AGAIN = "Stale pictures: run tests/bench/board_pictures.py, and look at each."


def test_the_pictures_are_not_stale() -> None:
    """What they were made from is what there is now; no pixel is compared between machines."""
    assert json.loads(MADE_FROM.read_text()) == made_from(), AGAIN


def test_there_is_a_picture_of_every_moment_at_every_size() -> None:
    """All of them, each a PNG of its own size (W3C PNG, 11.2.1: width and height in IHDR)."""
    for name, *_ in MOMENTS:
        for size, (width, height) in SIZES.items():
            head = (SHOTS / f"{name}-{size}.png").read_bytes()[:24]
            assert head[:8] == b"\x89PNG\r\n\x1a\n"
            assert (int.from_bytes(head[16:20]), int.from_bytes(head[20:24])) == (width, height)
