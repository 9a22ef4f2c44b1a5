"""The pictures are of the pages as they are: of these files, and of what the walk shows."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parent / "bench"))
pytest.importorskip("playwright")

from board_pictures import LIGHTS, MADE_FROM, MOMENTS, SHOTS, SIZES, TEACHERS, made_from

AGAIN = "Stale pictures: run tests/bench/board_pictures.py, and look at each."


def test_the_pictures_are_not_stale() -> None:
    """What they were made from is what there is now; no pixel is compared between machines."""
    assert json.loads(MADE_FROM.read_text()) == made_from(), AGAIN


def test_there_is_a_picture_of_every_moment_at_every_size() -> None:
    """All of them, each a PNG of its own size (W3C PNG, 11.2.1: width and height in IHDR)."""
    wanted = [(f"{name}-{size}", size) for name, *_ in MOMENTS for size in SIZES]
    wanted += [(f"looms-{size}-{light}", size) for size in TEACHERS for light in LIGHTS]
    for name, size in wanted:
        head = (SHOTS / f"{name}.png").read_bytes()[:24]
        assert head[:8] == b"\x89PNG\r\n\x1a\n"
        assert (int.from_bytes(head[16:20]), int.from_bytes(head[20:24])) == SIZES[size]
