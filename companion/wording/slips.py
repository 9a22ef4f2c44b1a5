"""Diagnoses, effects and mends as plain sentences for the ear."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from companion.base.text import capital, counted, listed
from companion.diagnosis.mends import How, Mend
from companion.diagnosis.slips import Diagnosis, Slip, SlipKind

if TYPE_CHECKING:
    from companion.diagnosis.effect import Effect

_MOST_PLACES_NAMED = 4
_MOST_SHAFTS_NAMED = 8

_PLACED = {
    SlipKind.WRONG_SHAFT: "End {first} is on shaft {found} instead of shaft {planned}",
    SlipKind.REPEATED_SHAFT: (
        "End {first} is on shaft {found} like its neighbour, instead of {planned}"
    ),
    SlipKind.MISSED_END: "End {first}, shaft {planned}, is missing",
    SlipKind.EXTRA_END: "An extra end is on shaft {found}, before end {first}",
    SlipKind.DOUBLED_END: "The heddle of end {first}, shaft {planned}, holds two ends",
    SlipKind.SKIPPED_HEDDLE: "An empty heddle of shaft {shaft} hangs among ends {first} to {last}",
    SlipKind.TRANSPOSED: (
        "Ends {first} and {last} are crossed: shafts {found} instead of {planned}"
    ),
    SlipKind.UNIT_SKIPPED: "The unit of ends {first} to {last}, shafts {planned}, is left out",
    SlipKind.UNIT_ADDED: "The unit of shafts {found} is there twice, before end {first}",
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
    SlipKind.UNIT_SKIPPED: "A unit of shafts {planned} is left out",
    SlipKind.UNIT_ADDED: "A unit of shafts {found} is there twice",
    SlipKind.SKIPPED_DENT: "A dent too many is left empty",
    SlipKind.DOUBLED_DENT: "Two dents' ends are in one dent",
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
        "The unit of shafts {found} is there {times} times too often, before end {first}"
    ),
}
"""The same of several; what can only be in one place is never said of several."""
_SEVERAL_UNPLACED = {
    SlipKind.MISSED_END: "{times} ends of shaft {planned} are missing",
    SlipKind.EXTRA_END: "There are {times} extra ends on shaft {found}",
    SlipKind.DOUBLED_END: "{times} heddles of shaft {planned} hold two ends each",
    SlipKind.WRONG_SHAFT: "{times} ends of shaft {planned} are on shaft {found}",
    SlipKind.UNIT_SKIPPED: "{times} units of shafts {planned} are left out",
    SlipKind.UNIT_ADDED: "{times} units of shafts {found} are there twice",
    SlipKind.SKIPPED_DENT: "{times} dents too many are left empty",
    SlipKind.DOUBLED_DENT: "{times} dents hold the ends of two each",
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
    How.SWAP_ENDS: "pull those ends out and draw them in the right order",
    How.REPAIR_HEDDLE: "tie a repair heddle on the right shaft and draw the end through it",
    How.RETHREAD: "pull end {first} and all after it, and thread them again",
    How.RESLEY: "pull ends {first} to {last} out of the reed and sley them again",
}


def _clauses(slip: Slip, times: int) -> Iterator[str]:
    """Yield what went wrong and, unless nothing tells it, where."""
    yield _form(slip, times).format(
        first=slip.first,
        last=slip.last,
        next=slip.first + 1,
        planned=_list(slip.planned),
        found=_list(slip.found),
        shaft=slip.shaft,
        times=times,
    )
    if slip.is_heddle_there:
        yield "Its heddle hangs empty" if times == 1 else "Their heddles hang empty"
    if not (_is_placed(slip) or _is_unseen(slip)):
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
    starts = [str(place.first) for place in slip.places]
    where = "It" if times == 1 else "They"
    if len(starts) <= _MOST_PLACES_NAMED:
        return f"{where} may be at {what} {listed(starts, 'or')}"
    ends = f"from {what} {starts[0]} to {starts[-1]}"
    return f"{where} may be at any of {len(starts)} places, {ends}"


def diagnosis_sentences(diagnosis: Diagnosis) -> str:
    """Return all slips of a diagnosis, one after the other; what is alike is told of several."""
    return f"{diagnosis_caption(diagnosis)}."


def diagnosis_caption(diagnosis: Diagnosis) -> str:
    """Return the same to go on from, without its last full stop."""
    alike: dict[Slip, list[Slip]] = {}
    for slip in diagnosis.slips:
        alike.setdefault(_as_told(slip), []).append(slip)
    return ". ".join(each for slips in alike.values() for each in _clauses(slips[0], len(slips)))


def mend_sentence(mend: Mend) -> str:
    """Return one way to mend as a sentence, with the work it makes."""
    ways = ", then ".join(dict.fromkeys(_HOW[how] for how in mend.how))
    ways = ways.format(first=mend.first, last=mend.last)
    work = counted(mend.ends, "end")
    if mend.repair_heddles:
        work += f" and {counted(mend.repair_heddles, 'repair heddle')}"
    return f"{capital(ways)}: {work}."


def effect_sentences(effect: Effect) -> str:
    """Return what happens to the cloth if nothing is mended, as sentences."""
    said = []
    if effect.ends_changed:
        said.append(
            f"If it stays, {_of(effect.ends_changed, 'end', 'weaves', 'weave')} off the plan, in "
            f"{counted(effect.crossings_changed, 'crossing')} of each pass through the treadling."
        )
    if effect.pairs_as_one > 0:
        more = _of(effect.pairs_as_one, "more pair", "weaves", "weave")
        said.append(f"{more} as one thread than planned.")
    if effect.ends_missing:
        said.append(f"{_of(effect.ends_missing, 'end', 'is', 'are')} missing from the cloth.")
    if effect.ends_added:
        said.append(f"{_of(effect.ends_added, 'end', 'is', 'are')} too many in the cloth.")
    if effect.floats_planned and effect.floats_now:
        before, now = max(effect.floats_planned), max(effect.floats_now)
        change = f"stays at {now}" if now == before else f"goes from {before} to {now}"
        said.append(f"The longest float {change}.")
    return " ".join(said) or "The cloth is as planned."


def _of(number: int, noun: str, one: str, several: str) -> str:
    """Return how many there are, and the verb that follows."""
    return f"{counted(number, noun)} {one if number == 1 else several}"
