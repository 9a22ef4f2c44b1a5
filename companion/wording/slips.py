"""Diagnoses, effects and mends as plain sentences for the ear."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain
from typing import TYPE_CHECKING

from companion.base.text import capital, counted, listed, span, uncapital
from companion.diagnosis.mends import How, Mend
from companion.diagnosis.slips import Diagnosis, Slip, SlipKind

if TYPE_CHECKING:
    from companion.diagnosis.effect import Effect

_MOST_PLACES_NAMED = 4
_MOST_SHAFTS_NAMED = 8
MOST_TOLD = 2
"""Slips told of one diagnosis before the rest is only counted, for the ear. Our own choice."""

_PLACED = {
    SlipKind.WRONG_SHAFT: "End {first} is on shaft {found} instead of shaft {planned}",
    SlipKind.REPEATED_SHAFT: (
        "End {first} is on shaft {found} like its neighbour, not on {planned}"
    ),
    SlipKind.MISSED_END: "End {first}, shaft {planned}, is missing",
    SlipKind.EXTRA_END: "An extra end is on shaft {found}, before end {first}",
    SlipKind.DOUBLED_END: "The heddle of end {first}, shaft {planned}, holds two ends",
    SlipKind.SKIPPED_HEDDLE: "An empty heddle of shaft {shaft} hangs at {ends}",
    SlipKind.TRANSPOSED: "Ends {first} and {last} are crossed",
    SlipKind.UNIT_SKIPPED: "The unit of {ends} is left out",
    SlipKind.UNIT_ADDED: "A unit of {size} ends is there twice, before end {first}",
    SlipKind.UNIT_MIRRORED: "Ends {first} to {last} are threaded the wrong way round",
    SlipKind.UNITS_SWAPPED: "The units in ends {first} to {last} are in the wrong order",
    SlipKind.PAIRS_SWAPPED: "Every pair is crossed in ends {first} to {last}",
    SlipKind.SKIPPED_DENT: "A dent is left empty before dent {first}",
    SlipKind.DOUBLED_DENT: "The ends of dents {first} and {next} are in one dent",
    SlipKind.WRONG_DENT: "Dent {first} holds {found} instead of {planned}",
}
_UNPLACED = {
    SlipKind.MISSED_END: "An end of shaft {planned} is missing",
    SlipKind.EXTRA_END: "There is an extra end on shaft {found}",
    SlipKind.DOUBLED_END: "A heddle of shaft {planned} holds two ends",
    SlipKind.WRONG_SHAFT: "An end of shaft {planned} is on shaft {found}",
    SlipKind.UNIT_SKIPPED: "A unit of {size} ends is left out",
    SlipKind.UNIT_ADDED: "A unit of {size} ends is there twice",
    SlipKind.SKIPPED_DENT: "A dent too many is left empty",
    SlipKind.DOUBLED_DENT: "The ends of two dents are in one",
}
_UNSEEN = {
    SlipKind.MISSED_END: "An end is missing",
    SlipKind.EXTRA_END: "There is an extra end",
    SlipKind.DOUBLED_END: "A heddle holds two ends",
}
"""What a number of ends alone can tell: neither shaft nor place."""
_SEVERAL = {
    SlipKind.EXTRA_END: "{times} extra ends are on shaft {found}, before end {first}",
    SlipKind.UNIT_ADDED: (
        "A unit of {size} ends is there {times} times too often, before end {first}"
    ),
}
"""The same of several; what can only be in one place is never said of several."""
_SEVERAL_UNPLACED = {
    SlipKind.MISSED_END: "{times} ends of shaft {planned} are missing",
    SlipKind.EXTRA_END: "There are {times} extra ends on shaft {found}",
    SlipKind.DOUBLED_END: "{times} heddles of shaft {planned} hold two ends each",
    SlipKind.WRONG_SHAFT: "{times} ends of shaft {planned} are on shaft {found}",
    SlipKind.UNIT_SKIPPED: "{times} units of {size} ends are left out",
    SlipKind.UNIT_ADDED: "{times} units of {size} ends are there twice",
    SlipKind.SKIPPED_DENT: "{times} dents too many are left empty",
    SlipKind.DOUBLED_DENT: "{times} dents hold the ends of two dents each",
}
_SEVERAL_UNSEEN = {
    SlipKind.MISSED_END: "{times} ends are missing",
    SlipKind.EXTRA_END: "There are {times} extra ends",
    SlipKind.DOUBLED_END: "{times} heddles hold two ends each",
}
_HOW = {
    How.LEAVE: "leave the empty heddle as it hangs",
    How.THREAD_END: "draw the missing end through its empty heddle",
    How.PULL_ENDS: "pull the extra end out and leave its heddle empty",
    How.SWAP_ENDS: "pull {ends} out and draw them in the right order",
    How.REPAIR_HEDDLE: "tie a repair heddle and draw {ends} through it",
    How.RETHREAD: "pull end {first} and thread it again",
    How.THREAD_ON: "thread end {first}",
    How.RESLEY: "pull {ends} out of the reed and sley them again",
}
_HOW_SEVERAL = {
    How.PULL_ENDS: "pull the extra ends out and leave their heddles empty",
    How.RETHREAD: "pull end {first} and all after it, and thread them again",
    How.THREAD_ON: "thread end {first} and all after it",
    How.REPAIR_HEDDLE: "tie repair heddles and draw {ends} through them",
}
"""The same of several ends."""


def _clauses(slip: Slip, times: int) -> Iterator[str]:
    """Yield what went wrong."""
    yield _form(slip, times).format(
        first=slip.first,
        last=slip.last,
        ends=span("end", slip.first, slip.last),
        next=slip.first + 1,
        planned=_list(slip.planned),
        found=_list(slip.found),
        shaft=slip.shaft,
        size=abs(slip.total_change),
        times=times,
    )
    if slip.is_heddle_there:
        yield "Its heddle hangs empty" if times == 1 else "Their heddles hang empty"


def _where(slip: Slip, times: int) -> Iterator[str]:
    """Yield the places it may be at, unless it is known, or nearly anywhere."""
    if not (_is_placed(slip) or _is_unseen(slip)) and len(slip.places) <= _MOST_PLACES_NAMED:
        yield _places(slip, times)


def _is_placed(slip: Slip) -> bool:
    return len(slip.places) <= 1


def _is_unseen(slip: Slip) -> bool:
    return slip.kind in _UNSEEN and not all((*slip.planned, *slip.found))


def _form(slip: Slip, times: int) -> str:
    one, several = _PLACED | _UNPLACED, _SEVERAL_UNPLACED
    if _is_unseen(slip) or (slip.is_heddle_there and not _is_placed(slip)):
        one, several = _UNSEEN, _SEVERAL_UNSEEN
    elif _is_placed(slip):
        one, several = _PLACED, _SEVERAL
    return (one | several if times > 1 else one)[slip.kind]


def _as_told(slip: Slip) -> Slip:
    """Return a slip without what its sentences leave out."""
    if _is_unseen(slip):
        return Slip(slip.kind, 0, 0)
    return slip if _is_placed(slip) else replace(slip, first=0, last=0)


def _list(shafts: Sequence[int]) -> str:
    named = ", ".join(str(shaft) for shaft in shafts[:_MOST_SHAFTS_NAMED])
    return named if len(shafts) <= _MOST_SHAFTS_NAMED else f"{named} and so on"


def _places(slip: Slip, times: int) -> str:
    what = "dent" if slip.kind in {SlipKind.SKIPPED_DENT, SlipKind.DOUBLED_DENT} else "end"
    where = "It" if times == 1 else "They"
    return f"{where} may be at {what} {listed((place.first for place in slip.places), 'or')}"


def diagnosis_sentences(diagnosis: Diagnosis, *, most: int | None = None) -> str:
    """Return the slips of a diagnosis, alike ones told as several; beyond `most`, how many more."""
    return f"{diagnosis_caption(diagnosis, most)}."


def diagnosis_caption(diagnosis: Diagnosis, most: int | None = None) -> str:
    """Return the same to go on from, without its last full stop."""
    alike = list(_alike(diagnosis))
    told = ((*_clauses(slip, times), *_where(slip, times)) for slip, times in alike[:most])
    more = [f"And {len(alike) - most} more"] if most and len(alike) > most else []
    return ". ".join((*chain.from_iterable(told), *more))


def diagnosis_shortly(diagnosis: Diagnosis) -> str:
    """Return the slips of a diagnosis as one clause, without the places they may be at."""
    alike = list(_alike(diagnosis))
    told = chain.from_iterable(_clauses(slip, times) for slip, times in alike[:MOST_TOLD])
    first, *others = told
    more = f", and {len(alike) - MOST_TOLD} more" if len(alike) > MOST_TOLD else ""
    return f"{', and '.join(map(uncapital, (first, *others)))}{more}"


def is_one_thing(diagnosis: Diagnosis) -> bool:
    """Return whether a diagnosis is one slip, or several that are told as one."""
    return len(list(_alike(diagnosis))) == 1


def _alike(diagnosis: Diagnosis) -> Iterator[tuple[Slip, int]]:
    """Yield each slip that is told by itself, and how many are told with it."""
    alike: dict[Slip, list[Slip]] = {}
    for slip in diagnosis.slips:
        alike.setdefault(_as_told(slip), []).append(slip)
    yield from ((slips[0], len(slips)) for slips in alike.values())


def mend_sentence(mend: Mend) -> str:
    """Return one way to mend as a sentence, with the work it makes where that is more than one."""
    hows = _HOW | _HOW_SEVERAL if mend.ends > len(mend.how) else _HOW
    is_one = len(mend.how) == 1
    ways = ", then ".join(dict.fromkeys(hows[how] for how in mend.how)).format(
        first=mend.first, ends=span("end", mend.first, mend.last) if is_one else "those ends"
    )
    work = [counted(mend.ends, "end")] if mend.ends > 1 else []
    if mend.repair_heddles > 1:
        work.append(counted(mend.repair_heddles, "repair heddle"))
    return f"{capital(ways)}{': ' if work else ''}{listed(work)}."


def effect_sentence(effect: Effect) -> str:
    """Return what happens to the cloth if nothing is mended; "" where the slips say all of it."""
    told = []
    if effect.floats_planned and effect.floats_now:
        before, now = max(effect.floats_planned), max(effect.floats_now)
        told += [f"the longest float goes from {before} to {now}"] if now != before else []
    if effect.pairs_as_one > 0:
        told.append(f"{_of(effect.pairs_as_one, 'more pair', 'weaves', 'weave')} as one thread")
    if effect.ends_changed:
        changed = _of(effect.ends_changed, "end", "weaves", "weave")
        told.append(f"{changed} off the plan, in {counted(effect.crossings_changed, 'crossing')}")
    is_plain = not (effect.ends_missing or effect.ends_added)
    if is_plain and not told:
        return "If it stays, the cloth is as planned."
    return f"If it stays, {listed(told)}." if told else ""


def _of(number: int, noun: str, one: str, several: str) -> str:
    """Return how many there are, and the verb that follows."""
    return f"{counted(number, noun)} {one if number == 1 else several}"
