"""The first picks: sheds to look across, picks of waste, and what a fault would mean.

Opening each shed and looking across it at eye level is from Hall and Buck, "Handicrafts for the
Handicapped" (1916). What each fault means is common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.job.step_builder import Told, ToldGroup, number_of, numbered, span
from companion.job.steps import Stage
from companion.loom.first_picks import first_picks

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.loom.dressing import Dressing
    from companion.loom.first_picks import FirstPicks, Shed

_WASTE: Final = 6
"""Picks of waste; our own choice."""
_FAULTS: Final = (
    "a gap along the cloth: a dent left empty by mischance",
    "a dense line along the cloth: a dent with the ends of two in it",
    "an end that never comes up: left out of its heddle, or caught behind another",
    "an end in between the layers of a shed: crossed with its neighbour, in heddles or reed",
    "a kink in a slanting line: two ends that have changed places, or one on a wrong shaft",
    "a whole stretch turned or shifted: a unit threaded in reverse, left out or put in twice",
)


def first_picks_stage(dressing: Dressing, preface: str) -> Stage:
    """Return the sheds, the waste and the faults, with nothing to count.

    Args:
        dressing: what is walked.
        preface: what is to be said first, such as why the stage before is left out.
    """
    picks = first_picks(dressing)
    steps, groups = numbered(_groups(dressing, picks))
    return Stage(
        name="first-picks",
        title="first picks",
        counted="picks",
        steps=steps,
        groups=groups,
        unit_names=(),
        start=" ".join(part for part in (preface, *_start(picks)) if part),
        dressing=dressing,
        item="step",
        caution="Take your foot off the companion's pedal before you press a treadle.",
    )


def _start(picks: FirstPicks) -> Iterator[str]:
    if picks.is_plain:
        yield "In this threading two sheds set every end against its neighbours."
    else:
        yield (
            "In this threading there are not two sheds that set every end against its "
            "neighbours, so each shaft is raised alone."
        )
    yield "Look across each shed at eye level, or feel with a flat hand for an end in between."
    yield "Last come the faults and what each means: confirm every one that you do not find."


def _groups(dressing: Dressing, picks: FirstPicks) -> Iterator[ToldGroup]:
    sheds = [_do(_shed(number, shed)) for number, shed in enumerate(picks.sheds, start=1)]
    yield ToldGroup("sheds to look across", sheds)
    yield ToldGroup("picks of waste", [_waste(dressing, picks)])
    yield ToldGroup("what a fault would mean", [_alike(picks), *(_do(line) for line in _FAULTS)])


def _do(words: str, note: str = "") -> Told:
    return Told(words, amount=0, note=note)


def _shed(number: int, shed: Shed) -> str:
    raised = f"shed {number}: raise {_numbers('shaft', shed.shafts)}"
    if shed.treadles:
        raised += f" with {_numbers('treadle', shed.treadles)}"
        raised += " together" if len(shed.treadles) > 1 else ""
    return raised


def _numbers(noun: str, numbers: tuple[int, ...]) -> str:
    if len(numbers) == 1:
        return f"{noun} {numbers[0]}"
    return f"{noun}s {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def _waste(dressing: Dressing, picks: FirstPicks) -> Told:
    if picks.is_plain:
        how = f"with {span('shed', 1, 2)} by turns"
    elif dressing.draft.picks or dressing.draft.lifts:
        how = "as the treadling of the plan begins"
    else:
        how = "with one shaft after the other"
    words = f"weave {number_of(_WASTE, 'pick')} of waste {how}, and beat them close"
    return _do(words, "Then feel along the cloth from edge to edge.")


def _alike(picks: FirstPicks) -> Told:
    words = (
        "two neighbours always together: one shaft threaded twice running, or an end on a wrong "
        "shaft"
    )
    if not picks.alike:
        return _do(words)
    pairs = "1 pair is" if picks.alike == 1 else f"{picks.alike} pairs are"
    return _do(words, f"In this threading {pairs} meant to be so.")
