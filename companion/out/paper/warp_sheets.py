"""The sheets of the warp's way through the loom: threading and sleying, a group to a line."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from operator import attrgetter

from companion.job import Stage, Step, StepGroup, stage
from companion.job.handful import begins_anew, turning
from companion.loom.dressing import Dressing
from companion.out.paper.charts import progress_chart, reed_chart
from companion.out.paper.sheet import Heading, Sheet, SheetLine, pieces
from companion.wording.openings import opening
from companion.wording.ways import before_steps, region_line


def threading_sheet(dressing: Dressing) -> Sheet:
    """Return the shafts of every end, in order."""
    walked = stage(dressing, "thread")
    chart = progress_chart(walked)
    is_striped = len({end.colour for end in dressing.ends}) > 1
    return Sheet(
        name="threading",
        numbered="group",
        spanned="end",
        content="shafts",
        intro=tuple(_threading_intro(walked)),
        lines=tuple(_threading_lines(walked, is_striped=is_striped)),
        charts=() if chart is None else (chart,),
    )


def sleying_sheet(dressing: Dressing) -> Sheet:
    """Return how many ends each dent holds, in order."""
    walked = stage(dressing, "sley")
    size = 1 if dressing.sley.regions else len(dressing.sley.pattern)
    return Sheet(
        name="sleying",
        numbered="group",
        spanned="dent",
        content="ends in each dent",
        intro=tuple(_sleying_intro(walked)),
        lines=tuple(_sleying_line(walked, group, size) for group in walked.groups),
        charts=(reed_chart(dressing),),
    )


def _threading_intro(walked: Stage) -> Iterator[str]:
    yield opening(walked)
    yield "Each line is one group; the numbers are shafts, one for each end in order."
    if any(step.is_doubled for step in walked.steps):
        yield "Ends in brackets go together through one heddle."


def _sleying_intro(walked: Stage) -> Iterator[str]:
    yield opening(walked)
    yield "Each line is one group; the numbers are ends, one number for each dent in order."
    if any(step.empty_dents for step in walked.steps):
        yield "A dent with 0 is left empty."
    yield from map(region_line, walked.dressing.sley.regions)


def _threading_lines(walked: Stage, *, is_striped: bool) -> Iterator[SheetLine]:
    part, dressing = "", walked.dressing
    for group in walked.groups:
        before, part = part, group.name.own
        heading = [Heading(f"{part}:")] if part not in ("", before) else []
        steps = walked.steps_of(group)
        content = (*heading, *_heddles(steps, dressing, is_striped=is_striped))
        yield SheetLine(group.number, (steps[0].first_end, steps[-1].last_end), content)


def _heddles(steps: Sequence[Step], dressing: Dressing, *, is_striped: bool) -> Iterator[str]:
    """Yield the shafts, unit by unit, colour and beam named where they begin on the line."""
    told = ("", "")
    for unit in _units(steps):
        yield from before_steps(unit, dressing)
        for run, both in _alike(unit):
            colour, beam = _colour_of(both), _beam_of(both)
            if beam != told[0] and beam:
                yield Heading(beam)
            if is_striped and colour != told[1]:
                yield Heading(colour)
            told = (beam, colour)
            yield from pieces([_heddle(step) for step in run])


def _units(steps: Sequence[Step]) -> Iterator[Sequence[Step]]:
    """Yield the steps unit by unit, parted also where one is told apart from those before it."""
    run: list[Step] = []
    for step in steps:
        if run and (step.unit != run[-1].unit or begins_anew(run, step)):
            yield run
            run = []
        run.append(step)
    yield run


def _alike(steps: Sequence[Step]) -> Iterator[tuple[Sequence[Step], Sequence[Step]]]:
    """Yield runs of one colour and beam, or of two by turns, each with those to name it by."""
    while steps:
        by_turns = turning(steps)
        run = by_turns or len(list(next(groupby(steps, key=attrgetter("colour", "beam")))[1]))
        yield steps[:run], steps[: 2 if by_turns else 1]
        steps = steps[run:]


def _colour_of(both: Sequence[Step]) -> str:
    names = [step.colour or "no colour named" for step in both]
    return f"{names[0]}:" if len(set(names)) == 1 else f"{' and '.join(names)} by turns:"


def _beam_of(both: Sequence[Step]) -> str:
    beams = [str(step.beam) for step in both]
    if not both[0].beam:
        return ""
    return f"beam {beams[0]}:" if len(set(beams)) == 1 else f"beams {' and '.join(beams)} by turns:"


def _heddle(step: Step) -> str:
    shafts = " ".join(map(str, step.shafts))
    return f"({shafts})" if step.is_doubled else shafts


def _sleying_line(walked: Stage, group: StepGroup, size: int) -> SheetLine:
    steps = walked.steps_of(group)
    first = steps[0].dents[0] - steps[0].empty_dents
    content: list[str] = []
    for is_floating, run in groupby(steps, key=lambda step: step.is_floating):
        if is_floating:
            content += ["floating selvedge" for _ in run]
        else:
            content += _in_passes(list(run), size)
    return SheetLine(group.number, (first, steps[-1].dents[-1]), tuple(content))


def _in_passes(steps: Sequence[Step], size: int) -> Iterator[str]:
    """Yield the dents pass by pass of the sley's order, so that a slip in it stands out."""
    held = [ends for step in steps for ends in (*[0] * step.empty_dents, len(step.shafts))]
    together = size if size > 1 else len(held)
    for at in range(0, len(held), together):
        yield from pieces(held[at : at + together])
