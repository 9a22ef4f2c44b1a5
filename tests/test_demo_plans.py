"""The demo plans read without a problem and are what their README says."""

from __future__ import annotations

import re
from collections import Counter
from itertools import groupby, pairwise
from pathlib import Path

import pytest

from companion.loom.compute import compute
from companion.plan.file.field_texts import field_text, keys_in
from companion.plan.file.reader import Plan, read_plan
from companion.plan.threading.named import find_named

FOLDER = Path(__file__).parent.parent / "plans"
PATHS = sorted(FOLDER.glob("*.toml"))
README = (FOLDER / "README.md").read_text(encoding="utf-8")


def plan(name: str) -> Plan:
    """Return a demo plan."""
    return read_plan(FOLDER / f"{name}.toml")


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_a_demo_plan_reads_and_says_it_is_invented(path: Path) -> None:
    """Each is complete, speaks of invented data and has a name in kebab case."""
    read = read_plan(path)
    assert len(read.draft.shafts) == len(read.draft.colours)
    assert max(read.draft.shafts) <= read.file.loom.shafts
    assert "Invented data." in read.text
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", path.stem)
    assert read.notes == ()


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_a_demo_plan_has_heddles_enough(path: Path) -> None:
    """A demo must not begin with a shortage that no move mends."""
    read = read_plan(path)
    assert len(read.file.loom.heddles or ()) == read.file.loom.shafts
    assert all(row.short == 0 for row in compute(read).heddles)


def test_the_readme_lists_every_plan_and_no_other() -> None:
    """A plan added or taken out shows here."""
    listed = re.findall(r"^\| `([a-z-]+\.toml)` \|", README, flags=re.MULTILINE)
    assert sorted(listed) == [path.name for path in PATHS]


def test_the_source_that_the_readme_names_is_there() -> None:
    """A module that moves is named anew."""
    named = re.findall(r"`(companion/[a-z_/]+\.py)`", README)
    assert [name for name in named if not (FOLDER.parent / name).is_file()] == []
    assert named


@pytest.mark.parametrize("table", ["", *(name for name in keys_in(()) if keys_in((name,)))])
def test_the_readme_tells_each_key_in_the_row_of_its_table(table: str) -> None:
    """A key, or a word that a key may be, that is added to the schema must be explained there."""
    heading = field_text((table,)).example.partition(" with ")[0] if table else ""
    heading = f"`{heading}`" if heading else "(top of the file)"
    (row,) = re.findall(rf"^\| {re.escape(heading)}[^|]*\|.*$", README, flags=re.MULTILINE)
    path = (table,) if table else ()
    keys = [key for key in keys_in(path) if table or not is_table(key)]
    assert [key for key in keys if f"`{key}`" not in row] == []
    words = [word for key in keys for word in words_of((*path, key))]
    assert [word for word in words if f"`{word}`" not in row] == []


def is_table(key: str) -> bool:
    return field_text((key,)).example.startswith("[")


def words_of(path: tuple[str, ...]) -> list[str]:
    """Return the words, in quotes, that a key takes and no others."""
    expected = field_text(path).expected
    is_choice = re.fullmatch(r'("[a-z-]+"(, | or )?)+', expected)
    return re.findall(r'"[a-z-]+"', expected) if is_choice else []


def test_the_first_try_has_forty_ends_in_a_straight_draw() -> None:
    """Small enough for a first walk."""
    assert plan("first-try").draft.shafts == (1, 2, 3, 4) * 10


def test_the_towels_have_three_hundred_ends_and_stripes_that_come_to_them() -> None:
    """White edges of 36 and seven blue stripes of 12."""
    draft = plan("striped-towels").draft
    assert len(draft.shafts) == len(draft.colours) == 300
    runs = [(colour, len(list(ends))) for colour, ends in groupby(draft.colours)]
    assert [run for run in runs if run[0] == "blue"] == [("blue", 12)] * 7
    assert (runs[0], runs[-1]) == (("white", 36), ("white", 36))


def test_the_runner_is_symmetric_about_its_middle_end() -> None:
    """Points of 14 ends and one to balance, 337 in all."""
    shafts = plan("point-runner").draft.shafts
    assert len(shafts) == 24 * 14 + 1
    assert shafts == shafts[::-1]


def test_the_scarf_breaks_its_twill_line_every_eight_ends() -> None:
    """228 ends in 224 heddles, the herringbone fourteen times over."""
    read = plan("herringbone-scarf")
    herringbone = find_named("herringbone 4")
    assert herringbone is not None
    assert read.draft.shafts == herringbone.shafts * 14
    assert set(read.draft.colours) == {"heather grey", "moss green"}


def test_the_napkins_speak_their_blocks_by_letter() -> None:
    """Width times sett is 235 ends, and blocks A and B keep their letters."""
    read = plan("lace-napkins")
    assert len(read.draft.shafts) == 235
    assert Counter(unit.name for unit in read.draft.units)["block A"] == 16


def test_the_lattice_alternates_odd_and_even_throughout() -> None:
    """The draft is read from its WIF file with two colours, a tie-up and a treadling."""
    read = plan("lattice-scarf")
    assert all((one + other) % 2 for one, other in pairwise(read.draft.shafts))
    assert read.draft.shafts == read.draft.shafts[::-1]
    assert (len(read.draft.treadles), len(read.draft.picks)) == (8, 14)
    assert len(set(read.draft.colours)) == 2


def test_the_mats_are_lifted_and_the_runner_is_pegged() -> None:
    """180 picks by levers as the tie-up says, and 160 picks by 8 bars on 16 shafts."""
    mats, runner = compute(plan("table-mats")), compute(plan("dobby-runner"))
    assert mats.tie_up is None
    assert mats.draft.lifts[:3] == ((1, 2, 5, 6), (2, 3, 6, 7), (3, 4, 7, 8))
    assert (len(mats.draft.lifts), len(runner.draft.lifts), len(runner.pegged)) == (180, 160, 8)


def test_the_shawl_crams_its_stripes() -> None:
    """Four regions of 28 ends and three of 12, with room on both sides of those."""
    shawl = compute(plan("rippled-shawl"))
    assert [each.last_end - each.first_end + 1 for each in shawl.sley.regions] == [28, 12] * 3 + [
        28
    ]
    assert shawl.sley.counts.count(0) == 24
