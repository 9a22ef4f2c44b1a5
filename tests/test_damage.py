"""Sessions and carried files damaged at random: a few of what bench/bench_trust.py does."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from damage import MEMORY, Sound, carry_trial, session_trial, sound

if TYPE_CHECKING:
    from collections.abc import Iterator

TRIALS = 60


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    """A folder that needs no disk."""
    with tempfile.TemporaryDirectory(dir=MEMORY) as name:
        yield Path(name)


@pytest.fixture(scope="module")
def whole(folder: Path) -> Sound:
    """An open session and what was carried of it."""
    return sound(folder / "whole")


def test_no_damage_of_a_session_gives_another_place(folder: Path, whole: Sound) -> None:
    """Each is refused in one line, whole, or older and said to be; the one beside it is sound."""
    chance = random.Random(1)
    came = {session_trial(chance, folder / "trial", whole) for _ in range(TRIALS)}
    assert {"refused", "whole"} <= came


def test_no_damage_of_a_carried_file_changes_what_is_here(folder: Path, whole: Sound) -> None:
    """Each is refused in one line, or what it holds is brought whole."""
    chance = random.Random(2)
    came = {carry_trial(chance, folder / "trial", whole) for _ in range(TRIALS)}
    assert "refused" in came
