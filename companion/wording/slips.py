"""Diagnoses, effects and mends as plain sentences for the ear."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from companion.base.text import counted, listed
from companion.diagnosis.mends import How
from companion.diagnosis.slips import SlipKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from companion.diagnosis.effect import Effect
    from companion.diagnosis.mends import Mend
    from companion.diagnosis.slips import Diagnosis, Slip

_MOST_PLACES_NAMED = 4
_MOST_SHAFTS_NAMED = 8

_SENTENCES = {
    SlipKind.WRONG_SHAFT: "{end} is on shaft {found} instead of shaft {planned}.",
    SlipKind.REPEATED_SHAFT: (
        "{end} is on shaft {found}, as its neighbour is, instead of {planned}."
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
    SlipKind.PAIRS_SWAPPED: "In ends {first} to {last} every pair is crossed.",
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
    "An end is missing.": "{} ends are missing.",
    "There is an extra end.": "There are {} extra ends.",
    "A heddle holds two ends.": "{} heddles hold two ends each.",
}
"""The same of several."""
_HOW = {
    How.LEAVE: "leave the empty heddle as it hangs",
    How.THREAD_END: "draw the missing end through its empty heddle",
    How.PULL_ENDS: "pull the extra end out and leave its heddle empty",
    How.SWAP_ENDS: "pull those ends and draw them in, in the right order",
    How.REPAIR_HEDDLE: "tie a repair heddle on the right shaft and draw the end through it",
    How.RETHREAD: "pull every end from end {first} on and thread them anew",
    How.RESLEY: "pull ends {first} to {last} out of the reed and sley them anew",
}


def slip_sentences(slip: Slip) -> str:
    """Return what went wrong and where, as one or two sentences."""
    said = _slip_sentence(slip)
    return said if _is_placed(slip) or said in _UNSEEN.values() else f"{said} {_places(slip)}"


def _is_placed(slip: Slip) -> bool:
    return len(slip.places) <= 1


def _slip_sentence(slip: Slip) -> str:
    """Return what went wrong, and where only if there is one place for it."""
    is_placed = _is_placed(slip)
    if not all((*slip.planned, *slip.found)) and slip.kind in _UNSEEN:
        return _UNSEEN[slip.kind]
    form = _SENTENCES[slip.kind] if is_placed else _UNPLACED.get(slip.kind, _SENTENCES[slip.kind])
    said = form.format(
        end=f"End {slip.first}",
        first=slip.first,
        last=slip.last,
        next=slip.first + 1,
        planned=_list(slip.planned),
        found=_list(slip.found),
        shaft=slip.shaft,
    )
    if slip.is_heddle_there:
        said = said if is_placed else "An end is missing."
        said += " Its heddle hangs empty."
    return said


def _list(shafts: Sequence[int]) -> str:
    named = ", ".join(str(shaft) for shaft in shafts[:_MOST_SHAFTS_NAMED])
    return named if len(shafts) <= _MOST_SHAFTS_NAMED else f"{named} and so on"


def _places(slip: Slip) -> str:
    """Return where else it may be, without reading out a long list."""
    what = "dent" if slip.kind in {SlipKind.SKIPPED_DENT, SlipKind.DOUBLED_DENT} else "end"
    starts = [str(place.first) for place in slip.places]
    if len(starts) <= _MOST_PLACES_NAMED:
        return f"It may be at {what} {listed(starts, 'or')}."
    return f"It may be at any of {len(starts)} places, from {what} {starts[0]} to {starts[-1]}."


def diagnosis_sentences(diagnosis: Diagnosis) -> str:
    """Return all slips of a diagnosis, one after the other; each once, with how often."""
    return _each_once(slip_sentences(slip) for slip in diagnosis.slips)


def recorded(diagnosis: Diagnosis) -> str:
    """Return all slips of a diagnosis as they stand on record, without the places in doubt."""
    return _each_once(_slip_sentence(slip) for slip in diagnosis.slips)


def _each_once(sentences: Iterable[str]) -> str:
    said = Counter(sentences)
    return " ".join(_times(sentence, times) for sentence, times in said.items())


def _times(sentence: str, times: int) -> str:
    if times == 1:
        return sentence
    if sentence in _SEVERAL:
        return _SEVERAL[sentence].format(times)
    return f"{sentence} {times} times over."


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
            f"If it stays, {counted(effect.ends_changed, 'end')} off the plan, "
            f"in {counted(effect.crossings_changed, 'crossing')} of one pass of the treadling."
        )
    if effect.pairs_as_one > 0:
        pairs = counted(effect.pairs_as_one, "pair")
        said.append(f"Neighbours weaving as one thread: {pairs} more than planned.")
    if effect.ends_missing:
        said.append(f"Missing from the cloth: {counted(effect.ends_missing, 'end')}.")
    if effect.ends_added:
        said.append(f"Too many in the cloth: {counted(effect.ends_added, 'end')}.")
    if effect.floats_planned and effect.floats_now:
        before, now = max(effect.floats_planned), max(effect.floats_now)
        change = "stays" if now == before else f"changes from {before}"
        said.append(f"The longest float {change} {'at' if now == before else 'to'} {now}.")
    return " ".join(said) or "The cloth is as planned."
