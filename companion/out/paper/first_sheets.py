"""The sheets that come before the loom: what to know, what the warp comes to, how it is wound."""

from collections.abc import Iterator, Mapping
from typing import Final, Literal

from companion.base.text import capital, counted
from companion.job import Danger, Stage, StageName, Step, stage
from companion.job.job import whole_job
from companion.loom.dressing import Dressing
from companion.loom.winding import AlikeRounds
from companion.out.paper.charts import warp_chart
from companion.out.paper.sheet import Sheet, SheetLine
from companion.wording.callouts import parts
from companion.wording.cautions import CAUTIONS, DANGERS
from companion.wording.openings import opening
from companion.wording.stages import TITLES
from companion.wording.warp_facts import warp_facts

READERS: Final = (
    "A screen reader finds headings, paragraphs and tables in the PDF and in the web page. "
    "The web page is the fullest: its lines can be ticked off, and words describe its drawings."
)


def first_sheet(dangers: Mapping[StageName, Danger]) -> Sheet:
    """Return what to know before the work begins: the cautions of every stage, at its name."""
    first: dict[Danger, StageName] = {}
    for name, danger in dangers.items():
        first.setdefault(danger, name)  # of two warps
    told = (
        f"{capital(TITLES[name])}. {DANGERS[danger]}"
        for danger, name in first.items()
        if danger is not Danger.HOOKS  # told for all the work
    )
    return Sheet(name="before you begin", intro=(CAUTIONS, *told), on_screen=(READERS,))


def dangers_of(dressing: Dressing) -> dict[StageName, Danger]:
    """Return what may hurt in each stage of the job that has a danger of its own."""
    dangers = ((name, stage(dressing, name).danger) for name in whole_job(dressing))
    return {name: danger for name, danger in dangers if danger is not None}


def warp_sheet(dressing: Dressing) -> Sheet:
    """Return what the warp comes to: its length, ends, yarn, sections, turns and bouts."""
    return Sheet(
        name="warp",
        content="how much",
        intro=("What to wind and what to buy, and how many of each thing there will be.",),
        lines=tuple(SheetLine(0, None, fact.parts, fact.name) for fact in warp_facts(dressing)),
    )


def winding_sheets(dressing: Dressing) -> tuple[Sheet, ...]:
    """Return the winding of the warp, or of both."""
    if dressing.sections is not None:
        return (_sections_sheet(dressing),)
    if not dressing.warps:
        return (_winding_sheet(dressing, "wind"),)
    return _winding_sheet(dressing, "wind"), _winding_sheet(dressing, "wind-second")


def _winding_sheet(dressing: Dressing, name: Literal["wind", "wind-second"]) -> Sheet:
    """Return the ends of each group that is tied off at the counting cross, colour by colour."""
    walked = stage(dressing, name)
    chart = warp_chart(walked.dressing)
    return Sheet(
        name="winding" if name == "wind" else "winding of the second warp",
        numbered="group",
        spanned="end",
        content="ends to wind",
        intro=(opening(walked),),
        lines=tuple(_winding_lines(walked)),
        charts=() if chart is None else (chart,),
    )


def _sections_sheet(dressing: Dressing) -> Sheet:
    walked = stage(dressing, "wind-sections")
    return Sheet(
        name="sections of the beam",
        numbered="section",
        spanned="end",
        content="ends",
        intro=(opening(walked),),
        lines=tuple(
            SheetLine(group.number, (step.first_end, step.last_end), (parts([step], walked).what,))
            for group in walked.groups
            for step in walked.steps_of(group)[:1]
        ),
    )


def _winding_lines(walked: Stage) -> Iterator[SheetLine]:
    for group in walked.groups:
        steps = walked.steps_of(group)
        parts = tuple(_rounds(step) for step in steps)
        yield SheetLine(group.number, (steps[0].first_end, steps[-1].last_end), parts)


def _rounds(step: Step) -> str:
    wound = step.content
    colour = f" {step.colour}" if step.colour else ""
    rounds = ""
    if isinstance(wound, AlikeRounds) and wound.together > 1:
        rounds = f" ({counted(wound.ends // wound.together, 'round')} of {wound.together})"
    return f"{step.ends}{colour}{rounds}"
