"""The table of licences in DEVELOPERS.md is what the packages state."""

from __future__ import annotations

import re

import licences
import pytest

TOLD = (licences.ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
TABLE = TOLD[TOLD.index("| licence | packages |") :].split("\n\n")[0]
ROWS = re.findall(r"^\| (\S.*) \| (.+) \|$", TABLE, re.MULTILINE)[1:]


def test_every_package_of_the_lock_has_its_place() -> None:
    """Each stands once, and none stands there that is not taken any more."""
    named = [package for _, row in ROWS for package in row.split(", ")]
    assert sorted(named) == licences.packages()


@pytest.mark.parametrize("package", licences.packages())
def test_the_table_says_what_the_package_states(package: str) -> None:
    """What is installed here is looked up; what another system needs was read in its wheel."""
    stated = licences.ELSEWHERE.get(package) or licences.stated(package)
    if stated is None:
        pytest.skip("not installed here")
    assert [licence for licence, row in ROWS if package in row.split(", ")] == [stated]
