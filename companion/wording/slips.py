"""Diagnoses, effects and mends as plain sentences for the ear."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from companion.base.text import counted, listed
from companion.diagnosis.mends import How, Mend
from companion.diagnosis.slips import Diagnosis, Slip, SlipKind

if TYPE_CHECKING:
    from companion.diagnosis.effect import Effect

_MOST_PLACES_NAMED = 4
_MOST_SHAFTS_NAMED = 8

_SENTENCES = {
    SlipKind.WRONG_SHAFT: "{end} is on shaft {found} instead of shaft {planned}.",
    SlipKind.REPEATED_SHAFT: (
        "{end} is on shaft {found} like its neighbour, instead of {planned}."
    ),
    SlipKind.MISSED_END: "{end}, shaft {planned}, is missing.",
    SlipKind.EXTRA_END: "An extra end is on shaft {found}, before end {first}.",
    SlipKind.DOUBLED_END: "The heddle of end {first}, shaft {planned}, holds two ends.",
    SlipKind.SKIPPED_HEDDLE: "An empty heddle of shaft {shaft} hangs among ends {first} to {last}.",
    SlipKind.TRANSPOSED: (
        "Ends {first} and {last} are crossed: shafts {found} instead of {planned}."
    ),
    SlipKind.UNIT_SKIPPED: "The unit of ends {first} to {last}, shafts {planned}, is left out.",
    SlipKind.UNIT_ADDED: "The unit of shafts {found} is there twice, before end {first}.",
    SlipKind.UNIT_MIRRORED: "Ends {first} to {last} are threaded the wrong way round.",
    SlipKind.UNITS_SWAPPED: "The units in ends {first} to {last} are in the wrong order.",
    SlipKind.PAIRS_SWAPPED: "Every pair is crossed in ends {first} to {last}.",
    SlipKind.SKIPPED_DENT: "A dent is left empty before dent {first}.",
    SlipKind.DOUBLED_DENT: "The ends of dents {first} and {next} are in one dent.",
    SlipKind.WRONG_DENT: "Dent {first} holds {found} instead of {planned}.",
}
_UNPLACED = {
    SlipKind.MISSED_END: "An end of shaft {planned} is missing.",
    SlipKind.EXTRA_END: "There is an extra end on shaft {found}.",
    SlipKind.DOUBLED_END: "A heddle of shaft {planned} holds two ends.",
    SlipKind.WRONG_SHAFT: "An end of shaft {planned} is on shaft {found}.",
    SlipKind.UNIT_SKIPPED: "A unit of shafts {planned} is left out.",
    SlipKind.UNIT_ADDED: "A unit of shafts {found} is there twice.",
    SlipKind.SKIPPED_DENT: "A dent too many is left empty.",
    SlipKind.DOUBLED_DENT: "Two dents' ends are in one dent.",
}
_UNSEEN = {
    SlipKind.MISSED_END: "An end is missing.",
    SlipKind.EXTRA_END: "There is an extra end.",
    SlipKind.DOUBLED_END: "A heddle holds two ends.",
}
"""What a number of ends alone can tell: neither shaft nor place."""
_SEVERAL = {
    "An end is missing.": "{times} ends are missing.",
    "There is an extra end.": "There are {times} extra ends.",
    "A heddle holds two ends.": "{times} heddles hold two ends each.",
    "An extra end is on shaft {found}, before end {first}.": (
        "{times} extra ends are on shaft {found}, before end {first}."
    ),
    "The unit of shafts {found} is there twice, before end {first}.": (
        "The unit of shafts {found} is there {times} times too often, before end {first}."
    ),
    "An end of shaft {planned} is missing.": "{times} ends of shaft {planned} are missing.",
    "There is an extra end on shaft {found}.": "There are {times} extra ends on shaft {found}.",
    "A heddle of shaft {planned} holds two ends.": (
        "{times} heddles of shaft {planned} hold two ends each."
    ),
    "An end of shaft {planned} is on shaft {found}.": (
        "{times} ends of shaft {planned} are on shaft {found}."
    ),
    "A unit of shafts {planned} is left out.": "{times} units of shafts {planned} are left out.",
    "A unit of shafts {found} is there twice.": "{times} units of shafts {found} are there twice.",
    "A dent too many is left empty.": "{times} dents too many are left empty.",
    "Two dents' ends are in one dent.": "{times} dents hold the ends of two each.",
}
"""The same of several; what can only be in one place is never said of several."""
_HOW = {
    How.LEAVE: "leave the empty heddle as it hangs",
    How.THREAD_END: "draw the missing end through its empty heddle",
    How.PULL_ENDS: "pull the extra end out and leave its heddle empty",
    How.SWAP_ENDS: "pull those ends out and draw them in the right order",
    How.REPAIR_HEDDLE: "tie a repair heddle on the right shaft and draw the end through it",
    How.RETHREAD: "pull end {first} and all after it, and thread them again",
    How.RESLEY: "pull ends {first} to {last} out of the reed and sley them again",
}


def _sentences(slip: Slip, times: int = 1) -> str:
    """Return what went wrong and, unless nothing tells it, where, as one or two sentences."""
    form = _form(slip)
    said = (form if times == 1 else _SEVERAL.get(form, form)).format(
        end=f"End {slip.first}",
        first=slip.first,
        last=slip.last,
        next=slip.first + 1,
        planned=_list(slip.planned),
        found=_list(slip.found),
        shaft=slip.shaft,
        times=times,
    )
    if slip.is_heddle_there:
        said += " Its heddle hangs empty." if times == 1 else " Their heddles hang empty."
    elif form in _UNSEEN.values():
        return said
    return said if _is_placed(slip) else f"{said} {_places(slip, times)}"


def _is_placed(slip: Slip) -> bool:
    return len(slip.places) <= 1


def _form(slip: Slip) -> str:
    if not all((*slip.planned, *slip.found)) and slip.kind in _UNSEEN:
        return _UNSEEN[slip.kind]
    if _is_placed(slip):
        return _SENTENCES[slip.kind]
    if slip.is_heddle_there:
        return _UNSEEN[SlipKind.MISSED_END]
    return _UNPLACED.get(slip.kind, _SENTENCES[slip.kind])


def _list(shafts: Sequence[int]) -> str:
    named = ", ".join(str(shaft) for shaft in shafts[:_MOST_SHAFTS_NAMED])
    return named if len(shafts) <= _MOST_SHAFTS_NAMED else f"{named} and so on"


def _places(slip: Slip, times: int) -> str:
    what = "dent" if slip.kind in {SlipKind.SKIPPED_DENT, SlipKind.DOUBLED_DENT} else "end"
    starts = [str(place.first) for place in slip.places]
    where = "It" if times == 1 else "They"
    if len(starts) <= _MOST_PLACES_NAMED:
        return f"{where} may be at {what} {listed(starts, 'or')}."
    ends = f"from {what} {starts[0]} to {starts[-1]}"
    return f"{where} may be at any of {len(starts)} places, {ends}."


def diagnosis_sentences(diagnosis: Diagnosis) -> str:
    """Return all slips of a diagnosis, one after the other; what is alike is told of several."""
    alike: dict[str, list[Slip]] = {}
    for slip in diagnosis.slips:
        alike.setdefault(_sentences(slip), []).append(slip)
    return " ".join(_sentences(slips[0], len(slips)) for slips in alike.values())


def mend_sentence(mend: Mend) -> str:
    """Return one way to mend as a sentence, with the work it makes."""
    ways = ", then ".join(dict.fromkeys(_HOW[how] for how in mend.how))
    ways = ways.format(first=mend.first, last=mend.last)
    work = counted(mend.ends, "end")
    if mend.repair_heddles:
        work += f" and {counted(mend.repair_heddles, 'repair heddle')}"
    return f"{ways[0].upper()}{ways[1:]}: {work}."


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
