"""What a weaver is told of each thing wrong in a plan, and that all of it is told at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from plan_texts import BY_DRAFT, PLAN, WIF, changed, problems_of

from companion.base.errors import PlanError
from companion.plan.file.reader import parse_plan, read_plan

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize(
    ("old", "new", "place", "fault", "mend"),
    [
        (
            "ends = 4",
            'ends = "4"',
            "line 5, warp.ends",
            'a whole number from 1 to 1,000,000, not "4"',
            "Write it as in ends = 300",
        ),
        (
            "ends = 4",
            "ends = 0",
            "line 5, warp.ends",
            "a whole number from 1 to 1,000,000, not 0",
            "Write it as in ends = 300",
        ),
        (
            "ends_per_inch = 10",
            "ends_per_inch = nan",
            "line 6, warp.ends_per_inch",
            "a number above 0, not NaN",
            "Write it as in ends_per_inch = 12",
        ),
        (
            "ends_per_inch = 10",
            "ends_per_inch = -1.5",
            "line 6, warp.ends_per_inch",
            "a number above 0, not -1.5",
            "Write it as in ends_per_inch = 12",
        ),
        (
            "ends_per_inch = 10\n",
            "",
            "line 4, warp",
            "the sett once, as ends_per_inch or ends_per_cm",
            "Write it as in [warp] with ends = 300 and a sett",
        ),
        (
            "ends = 4",
            "ends = 4\nwidth = 1",
            "line 4, warp",
            "ends or width, not both",
            "Write it as in [warp] with ends = 300 and a sett",
        ),
        (
            "ends = 4",
            "endz = 4",
            "line 5, warp.endz",
            'a key that belongs to [warp], not "endz"',
            "Write ends if that is meant",
        ),
        (
            "ends = 4",
            "epi = 4",
            "line 5, warp.epi",
            'a key that belongs to [warp], not "epi"',
            "Write ends_per_inch if that is meant",
        ),
        (
            "shafts = 4",
            "shafts = 4\nharnesses = 4",
            "line 14, loom.harnesses",
            'a key that belongs to [loom], not "harnesses"',
            "Write shafts if that is meant",
        ),
        (
            "shafts = 4",
            'shafts = 4\ndraft = "x.wif"',
            "line 14, loom.draft",
            'a key that belongs to [loom], not "draft"',
            "Move it to the top of the plan, above every table",
        ),
        (
            "shafts = 4",
            "shafts = 4\nfloating = 1",
            "line 14, loom.floating",
            'a key that belongs to [loom], not "floating"',
            "Move it to [selvedges]",
        ),
        (
            "[blocks]",
            "[bloks]",
            "line 16, bloks",
            'a key or a table of the plan, not "bloks"',
            "Write blocks if that is meant",
        ),
        (
            "[blocks]",
            "brand = 1\n[blocks]",
            "line 16, loom.brand",
            'a key that belongs to [loom], not "brand"',
            (
                "Take it out; the keys here are "
                "shafts, heddles, weaving_width, first_end, method, passes, thread_from, "
                "thread_first, shaft_one, kind"
            ),
        ),
        (
            "shafts = 4\n",
            "",
            "line 12, loom.shafts",
            "shafts, a whole number from 2 to 64, and it is missing",
            "Add shafts = 4 to [loom]",
        ),
        (
            'title = "Four ends"\n',
            "",
            "line 1, title",
            "title, a title of 1 to 120 characters on one line, and it is missing",
            'Add title = "Kitchen towels"',
        ),
        (
            'units = "inch"',
            'units = "yard"',
            "line 2, units",
            '"inch" or "metric", not "yard"',
            'Write it as in units = "inch"',
        ),
        (
            "[1, 1, 1, 1]",
            "[1, 1, -1, 1]",
            "line 14, loom.heddles.3",
            "a list with a whole number of heddles for each shaft, not -1",
            "Write it as in heddles = [100, 100, 100, 100]",
        ),
        (
            'block = "A"',
            'block = "A"\ntimes = "often"',
            "line 21, threading.1.times",
            'a whole number from 1 to 1,000,000, or "fill", not "often"',
            "Write it as in times = 25",
        ),
        (
            '{ ends = "3" }',
            '{ ends = "3", times = "fill" }',
            "line 24, threading.2.parts.1.times",
            'a whole number from 1 to 1,000,000, not "fill"',
            "Write it as in times = 2",
        ),
        (
            'block = "A"',
            'block = "A"\nnamed = "point 4"',
            "line 19, threading.1",
            "exactly one of ends, block, named or parts; found block and named",
            'Write it as in [[threading]] with ends = "1 to 4" and times = "fill"',
        ),
        (
            'block = "A"',
            'block = "A"\n\n[[treadling]]\ntimes = 2',
            "line 22, treadling.1",
            "exactly one of picks or parts; found none of them",
            'Write it as in [[treadling]] with picks = "1 to 4" and times = 10',
        ),
        (
            '{ ends = "3" }',
            "3",
            "line 24, threading.2.parts.1",
            "a list of smaller parts, not 3",
            'Write it as in parts = [{ends = "1 to 4"}, {ends = "3 to 2"}]',
        ),
        (
            'A = "1-2"',
            "A = 12",
            "line 17, blocks.A",
            (
                "a block's short name and its shafts in order, as text such as "
                '"1-2-3-4" or "1 to 4, 3 to 2", not 12'
            ),
            'Write it as in A = "1-2-1-3"',
        ),
        (
            'A = "1-2"',
            'A = "1-2-"',
            "line 17, blocks.A",
            'a number after "-" at character 4',
            'Write numbers in order, for example "1-2-3-4" or "1 to 4, 3 to 2"',
        ),
        (
            'block = "A"',
            'block = "B"',
            "line 20, threading.1.block",
            'the name of a block in [blocks], not "B"',
            'Add B = "1-2-3-4", or what it is, to [blocks]',
        ),
        (
            "ends = 4",
            "ends = 6",
            "line 5, warp.ends",
            "the 6 ends that warp.ends asks for, and the threading comes to 4",
            "Write ends = 4, or lengthen the threading by 2",
        ),
        (
            "[reed]\ndents_per_inch = 10\nwidth = 24",
            "reed = 1979-05-27",
            "line 8, warp.reed",
            'a key that belongs to [warp], not "reed"',
            "Move it to the top of the plan, above every table",
        ),
    ],
)
def test_each_fault_is_told_with_its_place_what_came_and_a_mend(
    old: str, new: str, place: str, fault: str, mend: str
) -> None:
    """One line: the place in the file, what was expected, what came, what to do."""
    assert f"{place}: expected {fault}. {mend}." in problems_of(changed((old, new)))


@pytest.mark.parametrize(
    ("pair", "number"),
    [
        (("ends = 4", "endz = 4"), 1),
        (("shafts = 4\n", ""), 1),
        (('A = "1-2"', "A = 12"), 1),
        (('block = "A"', 'block = "A"\ntimes = "often"'), 1),
        (("[[threading]]\nblock", "[[thredding]]\nblock"), 1),
        (("[blocks]", "[blokcs]"), 2),
    ],
)
def test_one_slip_does_not_bring_a_train_of_others(pair: tuple[str, str], number: int) -> None:
    """What follows from a table that could not be read is not held against the weaver."""
    assert len(problems_of(changed(pair))) == number


def test_everything_wrong_is_told_at_once_in_the_order_of_the_file() -> None:
    """Faults of the schema, of the notation and of what is missing come in one report."""
    text = changed(
        ('units = "inch"', 'units = "ell"'),
        ("width = 24", "width = 0"),
        ("shafts = 4", "shafts = 65"),
        ('A = "1-2"', 'A = "1-2"\nC = "1 to"'),
        ('block = "A"', 'block = "B"'),
        ('{ ends = "4" }', "{ ends = 4 }"),
    )
    lines = [problem.split(":")[0] for problem in problems_of(text)]
    assert lines == [
        "line 2, units",
        "line 10, reed.width",
        "line 13, loom.shafts",
        "line 18, blocks.C",
        "line 21, threading.1.block",
        "line 26, threading.2.parts.2.ends",
    ]


def test_the_problems_of_a_draft_are_told_with_the_plans_own() -> None:
    """Both files in one report, the draft's where the plan names it."""
    plan = BY_DRAFT.replace("shafts = 4", "shafts = 1")
    first, second = problems_of(plan, WIF.replace("3=3", "3=three"))
    assert first.startswith("line 2, draft, line 15, THREADING 3: ")
    assert second.startswith("line 9, loom.shafts: ")


def test_a_draft_that_is_missing_is_told_where_the_plan_names_it(tmp_path: Path) -> None:
    """The weaver sees which name was looked for."""
    path = tmp_path / "plan.toml"
    path.write_text(BY_DRAFT, encoding="utf-8")
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    assert [str(problem) for problem in caught.value.problems] == [
        (
            'line 2, draft, the whole file: expected the file "four.wif", and there is none. '
            "Check the name and the folder."
        )
    ]


def test_a_drafts_text_that_was_not_kept_is_told() -> None:
    """A stored plan without its stored draft cannot be read."""
    [problem] = problems_of(BY_DRAFT)
    assert 'expected the text of "four.wif" beside the plan\'s, and it is missing' in problem


def test_a_report_stops_at_fifty_problems() -> None:
    """A file of another kind does not flood the screen or the ear."""
    text = PLAN + "".join(f"\n[[threading]]\nblock = 'x{number}'\n" for number in range(80))
    problems = problems_of(text)
    assert len(problems) == 51
    assert "30 more" in problems[-1]


@pytest.mark.parametrize(
    "slip",
    [
        "[[threading]]\nblock = 'x{}'",
        "[[threading]]\nnamed = 'straigt {}'",
        "[[threading]]\nendz = '{}'",
        "[table{}]",
    ],
)
def test_a_file_of_thousands_of_slips_is_answered_by_the_first_of_them(slip: str) -> None:
    """Guesses at what is meant end somewhere; the answer is still a report of fifty and a count."""
    problems = problems_of(PLAN + "\n".join(map(slip.format, range(3000))))
    assert len(problems) == 51
    assert problems[0].startswith("line 27, ") or problems[0].startswith("line 28, ")


def test_the_whole_report_is_plain_lines() -> None:
    """The head names the file and the number; each problem has a line of its own."""
    with pytest.raises(PlanError) as caught:
        parse_plan(changed(("ends = 4", "ends = 6")), "four.toml")
    head, line = str(caught.value).splitlines()
    assert head == "four.toml: 1 problem found."
    assert line.startswith("  line 5, warp.ends: expected the 6 ends")


@pytest.mark.parametrize("shape", ["{}a = 1", "[{}a]", "[[{}a]]", "x = {{{}a = 1}}", '"a".{}a = 1'])
def test_a_key_of_thousands_of_parts_is_refused_before_it_is_read(shape: str) -> None:
    """The standard library's reader would take minutes over it."""
    (problem,) = problems_of(shape.format("a." * 200_000))
    assert "expected lists and tables inside each other at most 32 deep" in problem


def test_dots_in_texts_and_numbers_are_not_a_long_key() -> None:
    """Only the parts of one key count."""
    title = ("Four ends", "A title." * 10)
    many = ("ends = 4", "ends = 4 # " + ". " * 50)
    assert parse_plan(changed(title, many), "x").file.title == "A title." * 10
    decimals = f"\nx = [{', '.join(['1.5'] * 50)}]"
    assert all("32 deep" not in problem for problem in problems_of(decimals + PLAN))
