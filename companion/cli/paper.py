"""The commands that put a plan on paper, into a sound file or into a picture."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal, get_args

import click

from companion.base.errors import CompanionError
from companion.base.files import check_free, write_new
from companion.cli.plan_argument import PLAN
from companion.cli.walking import usable_settings
from companion.devices.speech.make import make_clips, store_folder
from companion.job import stage, stages
from companion.loom.compute import read_and_compute
from companion.out.paper.book import chapters
from companion.out.paper.files import SHEET_SUFFIXES, Print, sheet_bytes, unprintable
from companion.out.paper.marks import clock
from companion.out.paper.sheet import SheetName
from companion.out.paper.sheets import sheets
from companion.out.paper.sound_book import SOUND_SUFFIXES, write_book
from companion.out.picture.layout import layout
from companion.out.picture.png import write_png
from companion.out.picture.svg import write_svg
from companion.out.picture.view import read_slip, view
from companion.out.picture.words import words
from companion.session.setup import style_of

if TYPE_CHECKING:
    from companion.job import StageName
    from companion.loom.dressing import Dressing

PICTURE_SUFFIXES: Final = (".svg", ".png")
WALKED: Final[dict[str, StageName]] = {"threading": "thread", "sleying": "sley"}


@click.command(name="print")
@PLAN
@click.option(
    "--to",
    type=click.Path(path_type=Path),
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
    type=click.FloatRange(0, 60),
    default=3.0,
    help="Seconds of silence after each step of a sound file; 3 unless you say otherwise.",
)
@click.option("--rate", type=click.IntRange(80, 450), help="Words a minute of the voice.")
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
        _read_aloud(dressing, to, wanted, pause, rate)
        return
    paths = _paths(to, plan.stem)
    there = {each.name.replace(" ", "-"): each for each in sheets(dressing)}
    chosen = tuple(each for name, each in there.items() if not wanted or name in wanted)
    if not chosen:
        raise CompanionError(f"This plan has no such sheet. Choose from: {', '.join(there)}.")
    size: Literal["a4", "letter"] = page or ("letter" if dressing.units == "inch" else "a4")
    _write(paths, Print(dressing.title, chosen, int(points), size))


def _paths(to: Path, stem: str) -> list[Path]:
    """Return the files to write, the folder made where it is not there yet."""
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


def _read_aloud(
    dressing: Dressing, to: Path, wanted: tuple[str, ...], pause: float, rate: int | None
) -> None:
    silent = [each for each in wanted if each not in WALKED]
    if silent:
        raise CompanionError(
            f"Expected threading or sleying in a sound file, not {', '.join(silent)}. "
            "Leave --stage out for the whole walk."
        )
    names = tuple(WALKED[each] for each in wanted) or stages(dressing)
    settings = usable_settings()
    style = style_of(settings)
    book = (each for name in names for each in chapters(stage(dressing, name), style, pause))
    clips = make_clips(
        settings.speech.engine,
        settings.speech.voice,
        lambda line: click.echo(line, err=True),
        store_folder(),
    )
    try:
        speed = rate or settings.speech.words_per_minute
        written = write_book(to, dressing.title, book, clips, speed)
    finally:
        clips.close()
    click.echo(f"Wrote {to}: {len(written.marks)} chapters, {clock(written.seconds)} long.")
    click.echo(f"Wrote {written.contents}, the list of chapters.")


@click.command()
@PLAN
@click.option(
    "--to",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="A file ending in .svg or .png; the plan's name with .svg unless you say otherwise.",
)
@click.option("--at", type=click.IntRange(1), metavar="END", help="Mark this end.")
@click.option(
    "--instead",
    "slips",
    multiple=True,
    metavar="TEXT",
    help='Show the cloth beside it with a slip, "end 12 on shaft 3"; give it again for more.',
)
@click.option("--from-pick", type=click.IntRange(1), default=1, help="The first pick shown.")
def picture(
    *, plan: Path, to: Path | None, at: int | None, slips: tuple[str, ...], from_pick: int
) -> None:
    """Draw PLAN: threading, tie-up, treadling and drawdown, and the same in words.

    The words stand in the picture's file, for a screen reader, and in a text file beside it. A
    large plan is shown in part, around the end that is marked or threaded otherwise.

    \b
    companion picture plans/first-try.toml --to band.svg --at 12
    companion picture plans/striped-towels.toml --to slip.png --instead "end 150 on shaft 3"
    """
    _, dressing = read_and_compute(plan)
    path = to or Path(f"{plan.stem}.svg")
    suffix = path.suffix.lower()
    if suffix not in PICTURE_SUFFIXES:
        raise CompanionError(f"Expected a file ending in .svg or .png, not {path}.")
    shown = view(dressing, at=at, instead=dict(map(read_slip, slips)), from_pick=from_pick)
    told, drawn = words(shown), layout(shown)
    text = path.with_suffix(".txt")
    if text.exists():
        raise CompanionError(f"{text} exists already. Name another file, or move it first.")
    if suffix == ".svg":
        write_new(path, write_svg(dressing.title, told, drawn).encode())
    else:
        write_new(path, write_png(dressing.title, told, drawn))
    write_new(text, "".join(f"{line}\n" for line in told).encode())
    click.echo(f"Wrote {path}, and {text} with the same in words.")
