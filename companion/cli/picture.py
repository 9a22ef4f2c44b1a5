"""The command that draws a plan."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click

from companion.base.errors import CompanionError
from companion.base.files import write_new
from companion.cli.plan_argument import PLAN
from companion.loom.compute import read_and_compute
from companion.out.picture.layout import layout
from companion.out.picture.png import write_png
from companion.out.picture.svg import write_svg
from companion.out.picture.view import read_slip, view
from companion.out.picture.words import words

PICTURE_SUFFIXES: Final = (".svg", ".png")


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

    Beside them is the cloth in its yarns' colours, where the plan names any; each colour has a
    letter and a mark that tell it in grey. The words stand in the picture's file, for a screen
    reader, and in a text file beside it. A large plan is shown in part, around the end that is
    marked or threaded otherwise.

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
