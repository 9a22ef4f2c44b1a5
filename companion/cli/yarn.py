"""The commands about yarn: what a size is in other systems, and how close to set it."""

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import click

from companion.base.errors import CompanionError
from companion.base.text import decimal
from companion.cli.options import PATH, print_lines
from companion.loom.compute import read_and_compute
from companion.loom.yarns import weave_of
from companion.plan.values import exact
from companion.yarn.counts import SYSTEMS, find_system, read_size
from companion.yarn.length import read_share
from companion.yarn.sett import (
    USUAL_K,
    Weave,
    as_firm,
    closest_sett,
    read_weave,
    threads_side_by_side,
)


@click.group()
def yarn() -> None:
    """Yarn sizes and setts.

    \b
    companion yarn convert "8/2 cotton" --to tex
    companion yarn sett "8/2 cotton" --weave 2/2
    companion yarn sett --wraps 28 --weave plain
    companion yarn firmness 24 --from plain --to 2/2
    """


@yarn.command()
@click.argument("size")
@click.option("--to", "system", help="The count system to say it in; without it, all of them.")
def convert(size: str, system: str | None) -> None:
    """Say what SIZE, such as "8/2 cotton", is in other count systems.

    A plied yarn is taken whole, as one thread.
    """
    read = read_size(size)
    if system is not None:
        wanted = find_system(system)
        click.echo(f"{read} is {decimal(read.number_in(wanted))} {wanted.name}.")
        return
    click.echo(f"{read}, as one thread, is:")
    print_lines(f"  {decimal(read.number_in(each))} {each.name}" for each in SYSTEMS)


@yarn.command()
@click.argument("size", required=False)
@click.option("--wraps", help="Threads side by side in an inch (or cm) round a ruler.")
@click.option("--weave", "written", help="plain, 2/2, 3/1 ...: ends over and under by turns.")
@click.option(
    "--plan", type=PATH, help="Take the weave from the tie-up and treadling of this plan."
)
@click.option("--share", default="75 %", show_default=True, help="Part of the closest sett.")
@click.option("--k", default=None, help="Ashenhurst's factor for the yarn: 0.84 soft to 0.95 hard.")
def sett(
    size: str | None,
    *,
    wraps: str | None,
    written: str | None,
    plan: Path | None,
    share: str,
    k: str | None,
) -> None:
    """Say how close to set a yarn.

    The closest sett is that of a square cloth with the same yarn both ways, and the working sett a
    part of it. Wrapping gives fewer threads than Ashenhurst's rule: half the wraps for plain weave
    is a working sett as it stands. Sample before you trust either.
    """
    if (written is None) == (plan is None):
        raise CompanionError("Expected the weave once, as --weave or --plan. Write --weave 2/2.")
    weave = _planned_weave(plan) if plan is not None else read_weave(written or "")
    print_lines(_sett_lines(size, wraps, weave, share, k))


def _sett_lines(
    size: str | None, wraps: str | None, weave: Weave, share: str, k: str | None
) -> Iterator[str]:
    if size is not None and wraps is None:
        read = read_size(size)
        factor = USUAL_K if k is None else _number(k, "--k")
        side_by_side = threads_side_by_side(read.yards_per_pound, factor)
        closest = closest_sett(side_by_side, weave)
        yield (
            f"{read}: {decimal(side_by_side)} threads side by side in an inch, by Ashenhurst's "
            f"rule with K {decimal(factor)}."
        )
        yield f"Closest sett in this weave: {decimal(closest)} ends per inch."
        yield f"Working sett, {share} of it: {decimal(closest * read_share(share))} ends per inch."
    elif wraps is not None and size is None:
        closest = closest_sett(_number(wraps, "--wraps"), weave)
        yield f"Sett from {wraps} wraps in this weave: {decimal(closest)} ends in the same width."
    else:
        raise CompanionError(
            'Expected either a size or --wraps. Write companion yarn sett "8/2 cotton" --weave 2/2.'
        )


def _planned_weave(path: Path) -> Weave:
    read, _ = read_and_compute(path)
    weave = weave_of(read.draft)
    if weave is None:
        raise CompanionError(
            f"Expected a tie-up and a treadling in {path}, and there is none. Write the weave as "
            "--weave 2/2 instead."
        )
    return weave


@yarn.command()
@click.argument("old_sett", metavar="SETT")
@click.option("--from", "old", required=True, help="The weave it is set in: plain, 2/2 ...")
@click.option("--to", "new", required=True, help="The weave to change to.")
def firmness(old_sett: str, old: str, new: str) -> None:
    """Say how close to set another weave.

    The same yarn is as firm then as at SETT in the old one.
    """
    number = as_firm(_number(old_sett, "SETT"), read_weave(old), read_weave(new))
    click.echo(f"{old_sett} in {old} is as firm as {decimal(number)} in {new}.")


def _number(text: str, name: str) -> Fraction:
    try:
        number = exact(text)
    except ValueError:
        number = Fraction(0)
    if not number:
        raise CompanionError(
            f"{name}: expected a number above 0, not {text[:40]!r}. Write it as in 24 or 16.5."
        )
    return number
