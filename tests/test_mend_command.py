"""The command mend: a group's report in, causes, effects, mends and a picture out."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.base.errors import CompanionError
from companion.cli.mend import mend

FIRST_TRY = Path(__file__).parent.parent / "plans" / "first-try.toml"


def run(*arguments: object) -> list[str]:
    """Return the printed lines, mistakes raised."""
    words = [str(FIRST_TRY), *map(str, arguments)]
    result = CliRunner().invoke(mend, words, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output.splitlines()


def test_felt_shafts_give_place_effect_and_both_mends() -> None:
    """A crossed pair: where, what it does to the cloth, and the ends each mend makes to redo."""
    assert run("--group", 2, "--felt", "1 2 4 3 1 2 3 4") == [
        "Group 2, ends 9 to 16.",
        "1. Ends 11 and 12 are crossed.",
        "   If it stays, 2 ends weave off the plan, in 40 crossings.",
        "   Pull ends 11 and 12 out and draw them in the right order: 2 ends.",
        "   Pull end 11 and all after it, and thread them again: 6 ends.",
    ]


def test_shafts_felt_up_to_the_slip_are_enough() -> None:
    """A row that ends early leaves out no end after it, as at the loom; with a count it may."""
    assert run("--group", 2, "--felt", "1 2 4 3")[1] == "1. Ends 11 and 12 are crossed."
    assert run("--group", 2, "--felt", "1 2 3")[1:] == ["As planned: ends 9 to 11."]
    short = run("--group", 2, "--felt", "1 2 3 4 1 2 3", "--counted", 7)
    assert short[1] == "1. End 16, shaft 4, is missing."


def test_a_number_alone_says_what_it_cannot_tell() -> None:
    """One end too few has no place and no shaft, and the weaver is sent to feel."""
    assert run("--group", 2, "--counted", 7) == [
        "Group 2, ends 9 to 16.",
        "1. An end is missing.",
        "   First name the shafts you feel: they tell the place.",
        "   Pull end 9 and all after it, and thread them again: 8 ends.",
    ]


def test_spare_heddles_name_the_shafts() -> None:
    """One heddle over on shaft 3 and one too few on shaft 4 are an end on the wrong shaft."""
    told = run("--group", 2, "--counted", 8, "--spare", "3:+1", "--spare", "4:-1")
    assert told[1] == "1. An end of shaft 3 is on shaft 4. It may be at end 11 or 15."
    assert run("--group", 2, "--spare", "3:1,4:-1")[1] == told[1]


def test_what_is_right_says_what_was_not_seen() -> None:
    """Right counts point to the order; right shafts are as planned."""
    assert run("--group", 1, "--counted", 8)[1:] == [
        "As planned.",
        "Numbers alone cannot tell the order: name the shafts you feel.",
    ]
    assert run("--group", 1, "--felt", "1 2 3 4 1 2 3 4")[1:] == ["As planned."]


def test_the_error_is_drawn_beside_the_right_cloth(tmp_path: Path) -> None:
    """The picture and its words show both cloths, with the slip as caption."""
    path = tmp_path / "slip.svg"
    told = run("--group", 1, "--felt", "1 2 4 3 1 2 3 4", "--picture", path)
    assert told[-1].startswith(f"Wrote {path}, and ")
    assert "Ends 3 and 4 are crossed" in path.read_text(encoding="utf-8")
    words = path.with_suffix(".txt").read_text(encoding="utf-8")
    assert "nds 3 and 4 are crossed" in words
    with pytest.raises(CompanionError, match="exists already"):
        run("--group", 1, "--felt", "1 2 4 3 1 2 3 4", "--picture", path)


@pytest.mark.parametrize(
    ("arguments", "fault"),
    [
        (("--group", 1), "Nothing was told of the group. Give --counted, --felt or --spare"),
        (("--group", 9, "--counted", 7), "Expected a group from 1 to 5, not 9."),
        (("--group", 1, "--felt", "1 2 x"), 'Expected the shafts you feel, such as "1 2 3 4"'),
        (("--group", 1, "--felt", ""), "Expected the shafts you feel"),
        (("--group", 1, "--felt", "1 9"), "Expected a shaft from 1 to 4, not 9."),
        (("--group", 1, "--spare", "3"), "Expected a shaft and heddles left over, such as 3:\\+1"),
        (("--group", 1, "--spare", "7:1"), "Expected a shaft from 1 to 4, not 7."),
        (
            ("--group", 1, "--felt", "1 2 4 3", "--picture", "slip.pdf"),
            "Expected a file ending in .svg, not slip.pdf.",
        ),
        (
            ("--group", 1, "--counted", 7, "--picture", "slip.svg"),
            "There is no error at a known place to draw.",
        ),
    ],
)
def test_mistakes_are_one_clear_line(arguments: tuple[object, ...], fault: str) -> None:
    """What was expected, what came, and what to do."""
    with pytest.raises(CompanionError, match=fault) as error:
        run(*arguments)
    assert "\n" not in str(error.value)
