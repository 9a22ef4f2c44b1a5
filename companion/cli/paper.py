"""The command that puts a plan on paper, or into a sound file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal, get_args

import click

from companion.base.errors import CompanionError
from companion.base.files import check_free, write_new
from companion.cli.options import PATH, PLAN, RATE, Number
from companion.loom.compute import read_and_compute
from companion.loom.dressing import Dressing
from companion.out.paper.files import (
    SHEET_SUFFIXES,
    SOUND_SUFFIXES,
    Print,
    sheet_bytes,
    unprintable,
)
from companion.out.paper.sheet import SheetName
from companion.out.paper.sheets import sheets

if TYPE_CHECKING:
    from companion.out.paper.cloth import ClothPicture


@click.command(name="print")
@PLAN
@click.option(
    "--to",
    type=PATH,
    default=Path(),
    metavar="FOLDER|FILE",
    help="A folder, or a file ending in .pdf, .html, .brf, .wav, .flac or .mp3.",
)
@click.option(
    "--points",
    type=click.Choice(["18", "24", "32"]),
    default="18",
    help="Size of the print in the PDF; 18 unless you say otherwise.",
)
@click.option(
    "--page",
    type=click.Choice(["a4", "letter"]),
    help="Size of the paper; letter for a plan in inches, A4 for a metric one.",
)
@click.option(
    "--stage",
    "wanted",
    type=click.Choice([name.replace(" ", "-") for name in get_args(SheetName)]),
    multiple=True,
    help="Only this sheet; give it again for more.",
)
@click.option(
    "--pause",
    type=Number(0, 60, float),
    default=3.0,
    help="Seconds of silence after each step of a sound file; 3 unless you say otherwise.",
)
@RATE
def print_plan(
    *,
    plan: Path,
    to: Path,
    points: str,
    page: Literal["a4", "letter"] | None,
    wanted: tuple[str, ...],
    pause: float,
    rate: int | None,
) -> None:
    """Print PLAN in large print, as a web page and in braille, or read it into a sound file.

    Into a folder, this one unless you name another, go a PDF in large print, an HTML page and a
    BRF file for a braille embosser: what to thread, sley, tie and treadle, a group to a line.
    A sound file holds the whole walk, with a pause after each step and a chapter for each group;
    the list of its chapters is written beside it.

    \b
    companion print plans/first-try.toml --to sheets
    companion print plans/first-try.toml --to towels.pdf --points 24 --stage threading
    companion print plans/first-try.toml --to walk.mp3 --pause 5
    """
    _, dressing = read_and_compute(plan)
    suffix = to.suffix.lower()
    if suffix in SOUND_SUFFIXES and not to.is_dir():
        from companion.cli.sound_book import read_aloud  # noqa: PLC0415 - print must not wait for it

        read_aloud(dressing, to, wanted, pause, rate)
        return
    paths = _paths(to, plan.stem)
    there = {each.name.replace(" ", "-"): each for each in sheets(dressing)}
    chosen = tuple(each for name, each in there.items() if not wanted or name in wanted)
    if not chosen:
        raise CompanionError(f"This plan has no such sheet. Choose from: {', '.join(there)}.")
    size: Literal["a4", "letter"] = page or ("letter" if dressing.units == "inch" else "a4")
    made = Print(dressing.title, chosen, int(points), size, lambda: _cloth(dressing, wanted))
    _write(paths, made)
    if len(paths) > 1:
        click.echo("For a screen reader the web page is the fullest.")


def _cloth(dressing: Dressing, wanted: tuple[str, ...]) -> ClothPicture | None:
    """Return the picture that goes with all sheets; with a few of them there is none."""
    from companion.out.paper.cloth import cloth_picture  # noqa: PLC0415 - for a web page alone

    return None if wanted else cloth_picture(dressing)


def _paths(to: Path, stem: str) -> list[Path]:
    suffix = to.suffix.lower()
    if suffix in SHEET_SUFFIXES and not to.is_dir():
        return [to]
    if suffix and not to.is_dir():
        known = ", ".join((*SHEET_SUFFIXES, *SOUND_SUFFIXES))
        raise CompanionError(f"Expected a folder or a file ending in {known}, not {to}.")
    try:
        to.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CompanionError(f"The folder {to} cannot be made: {error.strerror}.") from None
    paths = [to / f"{stem}{each}" for each in SHEET_SUFFIXES]
    for path in paths:
        check_free(path)
    return paths


def _write(paths: list[Path], wanted: Print) -> None:
    for path in paths:
        suffix = path.suffix.lower()
        write_new(path, sheet_bytes(suffix, wanted))
        click.echo(f"Wrote {path}.")
        lost = unprintable(suffix, wanted)
        if lost:
            click.echo(f"{path.name} has a question mark for each of: {' '.join(lost)}", err=True)
