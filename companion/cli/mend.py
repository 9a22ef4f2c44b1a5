"""The command that tells what a count, spare heddles or felt shafts most likely mean."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import click

from companion.base.errors import CompanionError
from companion.base.text import span
from companion.cli.options import FILE, PLAN, Number, print_lines
from companion.diagnosis.diagnose import diagnose
from companion.diagnosis.effect import effect, in_cloth
from companion.diagnosis.mends import mends
from companion.diagnosis.planned import planned_group
from companion.diagnosis.slips import Advice, Diagnosis, Findings, Observed, applied, observed
from companion.loom.compute import read_and_compute
from companion.loom.dressing import Dressing
from companion.loom.threading_order import as_threaded
from companion.out.picture.view import compare
from companion.wording.mending import ADVICE, FELT, feel_first
from companion.wording.slips import (
    diagnosis_caption,
    diagnosis_sentences,
    effect_sentence,
    mend_sentence,
)

_SPARE: Final = re.compile(r"\s*(\d{1,3})\s*:\s*([+-]?\d{1,4})\s*")
_MOST_FELT: Final = 1000


@click.command()
@PLAN
@click.option("--group", type=Number(1), required=True, help="The group, from 1.")
@click.option("--counted", type=Number(0), help="How many ends you count in it.")
@click.option("--felt", help='The shafts you feel, end by end, such as "1 2 4 3".')
@click.option(
    "--spare",
    multiple=True,
    metavar="SHAFT:NUMBER",
    help="Heddles left over beyond the plan, 3:+1, or too few, 3:-1; give it again for more.",
)
@click.option(
    "--picture",
    type=FILE,
    metavar="FILE.svg",
    help="Draw the likeliest error beside the right cloth.",
)
def mend(
    *,
    plan: Path,
    group: int,
    counted: int | None,
    felt: str | None,
    spare: tuple[str, ...],
    picture: Path | None,
) -> None:
    """Tell what went wrong in a group of PLAN, what it does to the cloth, and how to mend it.

    Give whatever you have looked at. The number of ends shows ends missed, doubled and added; the
    heddles left over show ends on a wrong shaft too; only the shafts as you feel them show ends in
    the wrong order, and where anything is.

    \b
    companion mend plans/first-try.toml --group 2 --counted 7
    companion mend plans/first-try.toml --group 2 --felt "1 2 4 3 1 2 3 4" --picture slip.svg
    """
    dressing = as_threaded(read_and_compute(plan)[1])
    if group > len(dressing.groups):
        most = len(dressing.groups)
        raise CompanionError(f"Expected a group from 1 to {most}, not {group}.")
    report = _report(dressing, group, counted, felt, spare)
    found = diagnose(planned_group(dressing, group), report)
    print_lines(_lines(dressing, group, report, found))
    if picture is not None:
        _draw(dressing, found, picture)


def _report(
    dressing: Dressing, group: int, counted: int | None, felt: str | None, spare: tuple[str, ...]
) -> Observed:
    if counted is None and felt is None and not spare:
        raise CompanionError(
            "Nothing was told of the group. Give --counted, --felt or --spare, or several of them."
        )
    over = dict(_spare(dressing, each) for text in spare for each in text.split(","))
    row = None if felt is None else _felt(dressing, felt)
    return observed(dressing.groups[group - 1].ends, counted, over, row)


def _spare(dressing: Dressing, text: str) -> tuple[int, int]:
    match = _SPARE.fullmatch(text)
    if match is None:
        raise CompanionError(
            f'Expected a shaft and heddles left over, such as 3:+1, not "{text}". '
            "Write 3:-1 for one too few."
        )
    return _shaft(dressing, int(match[1])), int(match[2])


def _felt(dressing: Dressing, text: str) -> tuple[int, ...]:
    given = text.replace(",", " ").split()
    if (
        not given
        or len(given) > _MOST_FELT
        or not all(re.fullmatch(r"\d{1,3}", each) for each in given)
    ):
        raise CompanionError(
            f'Expected the shafts you feel, such as "1 2 3 4", not "{text[:60]}". '
            "Give a number for each end."
        )
    return tuple(_shaft(dressing, int(each)) for each in given)


def _shaft(dressing: Dressing, shaft: int) -> int:
    most = len(dressing.heddles)
    if not 1 <= shaft <= most:
        raise CompanionError(
            f"Expected a shaft from 1 to {most}, not {shaft}. Give a shaft of this loom."
        )
    return shaft


def _lines(dressing: Dressing, group: int, report: Observed, found: Findings) -> Iterator[str]:
    ends = dressing.groups[group - 1]
    yield f"Group {group}, ends {ends.first} to {ends.last}."
    if not found.diagnoses and set(found.advice) <= {Advice.ORDER_UNSEEN}:
        felt = () if report.is_felt_whole else report.felt or ()
        so_far = span("end", ends.first, ends.first + len(felt) - 1)
        yield f"As planned: {so_far}." if felt else "As planned."
    for number, diagnosis in enumerate(found.diagnoses, start=1):
        yield f"{number}. {diagnosis_sentences(diagnosis)}"
        yield from _about(dressing, ends.last, diagnosis)
    yield from (ADVICE[advice] for advice in found.advice)


def _about(dressing: Dressing, last: int, diagnosis: Diagnosis) -> Iterator[str]:
    """Yield what an error does and how to mend it, once the group is threaded to its end."""
    laid, whole = in_cloth(diagnosis, dressing), dressing.whole or dressing
    if not diagnosis.is_placed:
        yield f"   {feel_first(FELT['end'])}"
    else:
        shafts = tuple(end.shaft for end in whole.ends)
        does = effect_sentence(effect(whole.draft, shafts, laid))
        yield from [f"   {does}"] if does else []
    for way in mends(diagnosis, last):
        yield f"   {mend_sentence(way)}"


def _draw(dressing: Dressing, found: Findings, path: Path) -> None:
    if path.suffix.lower() != ".svg":
        raise CompanionError(f"Expected a file ending in .svg, not {path}.")
    placed = [diagnosis for diagnosis in found.diagnoses if diagnosis.is_placed]
    if not placed:
        raise CompanionError(
            "There is no error at a known place to draw. Give --felt with the shafts you feel."
        )
    from companion.cli.picture import write_picture  # noqa: PLC0415 - only where it is asked for

    whole = dressing.whole or dressing
    shafts = tuple(end.shaft for end in whole.ends)
    caption = diagnosis_caption(placed[0])
    caption += ", counted as they are threaded" if dressing.back_at else ""
    found_shafts = applied(shafts, in_cloth(placed[0], dressing).slips)
    write_picture(path, dressing.title, compare(whole, found_shafts, caption))
