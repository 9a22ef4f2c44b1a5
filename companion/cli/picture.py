"""The command that draws a plan."""

from pathlib import Path
from typing import Final

import click

from companion.base.errors import CompanionError
from companion.base.files import check_free, write_new
from companion.cli.options import FILE, PLAN, Number
from companion.loom.compute import read_and_compute
from companion.loom.threading_order import numbers_as_threaded
from companion.out.picture.layout import layout
from companion.out.picture.png import write_png
from companion.out.picture.svg import write_svg
from companion.out.picture.view import PictureView, read_slip, view
from companion.out.picture.words import words

PICTURE_SUFFIXES: Final = (".svg", ".png")


@click.command()
@PLAN
@click.option(
    "--to",
    type=FILE,
    metavar="FILE",
    help="A file ending in .svg or .png; the plan's name with .svg unless you say otherwise.",
)
@click.option("--at", type=Number(1), metavar="END", help="Mark this end.")
@click.option(
    "--instead",
    "slips",
    multiple=True,
    metavar="TEXT",
    help='Show the cloth beside it with a slip, "end 12 on shaft 3"; give it again for more.',
)
@click.option("--from-pick", type=Number(1), default=1, help="The first pick shown.")
def picture(
    *, plan: Path, to: Path | None, at: int | None, slips: tuple[str, ...], from_pick: int
) -> None:
    """Draw PLAN: threading, tie-up, treadling and drawdown, and the same in words.

    Beside them is the cloth in its yarns' colours, where the plan names any; each colour has a
    letter and a mark that tell it in grey. The words stand in the picture's file, for a screen
    reader, and in a text file beside it. A large plan is shown in part, around the end that is
    marked or threaded otherwise. Give ends by the numbers of the walk; the picture counts from
    edge to edge.

    \b
    companion picture plans/first-try.toml --to band.svg --at 12
    companion picture plans/striped-towels.toml --to slip.png --instead "end 150 on shaft 3"
    """
    _, dressing = read_and_compute(plan)
    path = to or Path(f"{plan.stem}.svg")
    suffix = path.suffix.lower()
    if suffix not in PICTURE_SUFFIXES:
        raise CompanionError(f"Expected a file ending in .svg or .png, not {path}.")
    order = numbers_as_threaded(dressing)

    def in_cloth(end: int) -> int:
        return order[end - 1] if 1 <= end <= len(order) else end

    instead = {in_cloth(end): shaft for end, shaft in map(read_slip, slips)}
    marked = None if at is None else in_cloth(at)
    shown = view(dressing, at=marked, instead=instead, from_pick=from_pick)
    write_picture(path, dressing.title, shown)


def write_picture(path: Path, title: str, shown: PictureView) -> None:
    """Write a picture as SVG or PNG, by the path's ending, and beside it the same in words."""
    told, drawn = words(shown), layout(shown)
    text = path.with_suffix(".txt")
    check_free(text)
    if path.suffix.lower() == ".svg":
        write_new(path, write_svg(title, told, drawn))
    else:
        write_new(path, write_png(title, told, drawn))
    write_new(text, "".join(f"{line}\n" for line in told))
    click.echo(f"Wrote {path}, and {text} with the same in words.")
