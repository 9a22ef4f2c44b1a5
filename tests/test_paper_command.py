"""The commands print and picture: files that say the plan, and one line for every mistake."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner
from paper_plans import PLANS, demo, sheet_of

from companion.base.errors import CompanionError
from companion.cli.paper import print_plan
from companion.cli.picture import picture
from companion.out.paper.files import Print, unprintable
from companion.out.paper.sheets import sheets

if TYPE_CHECKING:
    from pathlib import Path

    import click

FIRST_TRY = next(path for path in PLANS if path.stem == "first-try")


def run(command: click.Command, *arguments: object) -> str:
    """Run a command as the command line does, mistakes raised."""
    result = CliRunner().invoke(command, list(map(str, arguments)), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def test_a_folder_gets_all_three_kinds(tmp_path: Path) -> None:
    """The folder is made, and PDF, HTML and BRF are in it, named for the plan."""
    folder = tmp_path / "new" / "sheets"
    output = run(print_plan, FIRST_TRY, "--to", folder)
    assert sorted(path.name for path in folder.iterdir()) == [
        "first-try.brf",
        "first-try.html",
        "first-try.pdf",
    ]
    assert output.count("Wrote ") == 3
    assert (folder / "first-try.pdf").read_bytes().startswith(b"%PDF-")


def test_one_sheet_into_one_file(tmp_path: Path) -> None:
    """`--stage` chooses, and the suffix says which kind."""
    run(print_plan, FIRST_TRY, "--to", tmp_path / "a.html", "--stage", "threading")
    text = (tmp_path / "a.html").read_text(encoding="utf-8")
    assert 'id="threading"' in text
    assert 'id="sleying"' not in text


@pytest.mark.parametrize(
    ("arguments", "fault"),
    [
        (("--to", "{}/a.doc"), "Expected a folder or a file ending in .pdf"),
        (
            ("--to", "{}/a.pdf", "--stage", "lift-plan"),
            "no such sheet. Choose from: before-you-begin",
        ),
        (("--to", "{}/a.mp3", "--stage", "raddle"), "threading or sleying in a sound file"),
        (("--to", "{}/taken.pdf"), "taken.pdf exists already"),
        (("--to", "{}/away/a.pdf"), "away is not a folder"),
    ],
)
def test_mistakes_are_one_line(arguments: tuple[str, ...], fault: str, tmp_path: Path) -> None:
    """What was expected, what came, what to do; and nothing is written over."""
    taken = tmp_path / "taken.pdf"
    taken.write_text("mine", encoding="utf-8")
    with pytest.raises(CompanionError, match=fault) as caught:
        run(print_plan, FIRST_TRY, *(each.format(tmp_path) for each in arguments))
    assert "\n" not in str(caught.value)
    assert [path.name for path in tmp_path.iterdir()] == ["taken.pdf"]
    assert taken.read_text(encoding="utf-8") == "mine"


def test_a_picture_and_its_words(tmp_path: Path) -> None:
    """The text beside the picture is the description in it."""
    for suffix in ("svg", "png"):
        folder = tmp_path / suffix
        folder.mkdir()
        run(picture, FIRST_TRY, "--to", folder / f"a.{suffix}", "--at", 12)
        text = (folder / "a.txt").read_text(encoding="utf-8")
        assert "The place in the walk is marked: end 12, on shaft 4." in text


def test_other_pictures_are_not_known(tmp_path: Path) -> None:
    """SVG and PNG are all there are."""
    with pytest.raises(CompanionError, match=r"ending in \.svg or \.png"):
        run(picture, FIRST_TRY, "--to", tmp_path / "a.jpg")


def test_letters_that_are_lost_are_told() -> None:
    """The large print and the braille say which letters they have not; the HTML has them all."""
    wanted = Print("織 naïve?", (sheet_of(sheets(demo("first-try")), "tie-up"),))
    assert unprintable(".pdf", wanted) == "織"
    assert unprintable(".brf", wanted) == "織"
    assert unprintable(".html", wanted) == ""
