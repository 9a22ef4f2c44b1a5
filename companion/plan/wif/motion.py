"""The tie-up, treadling and lift plan of a WIF file, made one where they say the same."""

from collections.abc import Mapping
from itertools import zip_longest
from typing import NamedTuple

from companion.base.text import counted, quoted
from companion.plan.draft.lifts import Shafts, tied_shafts
from companion.plan.wif.sections import FileFindings, Sections, is_true, uncommented, whole, written
from companion.plan.wif.tables import ListedRow, read_rows

Lists = tuple[tuple[int, ...], ...]


class Motion(NamedTuple):
    """What moves the shafts, in the order of a draft's fields."""

    treadles: Lists
    is_rising_shed: bool
    picks: Lists
    lifts: Lists


def read_motion(sections: Sections, findings: FileFindings) -> Motion:
    """Return the tie-up and treadling, or the lift plan where there is none or it differs."""
    tie_up, picks, lifts = (
        _dense(read_rows(section, findings)) if (section := sections.get(name)) else ()
        for name in ("TIEUP", "TREADLING", "LIFTPLAN")
    )
    motion = Motion(tie_up, _is_rising_shed(sections, findings), picks, lifts)
    motion = _one_way(_with_every_treadle(motion, findings), findings)
    _note_idle_picks(motion, findings)
    _note_weft(sections, len(motion.lifts or motion.picks), findings)
    return motion


def _is_rising_shed(sections: Sections, findings: FileFindings) -> bool:
    said = written(sections, "WEAVING", "rising shed")
    is_rising = is_true(said)
    if is_rising is None and uncommented(said):
        fault = f"expected true or false for the rising shed, found {quoted(said)}"
        findings.note(f"{fault}; rising is assumed")
    elif is_rising is None and "TIEUP" in sections:
        findings.note("the file does not say whether its shed rises or sinks; rising is assumed")
    return is_rising is not False


def _dense(rows: Mapping[int, ListedRow]) -> Lists:
    """Return the values of rows 1 to the last listed; nothing for a row left out."""
    values: list[tuple[int, ...]] = [()] * max(rows, default=0)
    for number, row in rows.items():
        values[number - 1] = row.values
    return tuple(values)


def _with_every_treadle(motion: Motion, findings: FileFindings) -> Motion:
    tied = len(motion.treadles)
    pressed = max((pick[-1] for pick in motion.picks if pick), default=0)
    if pressed <= tied:
        return motion
    findings.note(f"treadles up to {pressed} are pressed, but the tie-up ends at {tied}")
    return motion._replace(treadles=motion.treadles + ((),) * (pressed - tied))


def _one_way(motion: Motion, findings: FileFindings) -> Motion:
    """Keep the treadles where the lift plan only repeats them; else the lift plan."""
    if motion.lifts and motion.picks:
        pick = _first_difference(motion)
        if not pick:
            return motion._replace(lifts=())
        findings.note(
            f"the lift plan and the treadling differ, first at pick {pick}; "
            "the lift plan is followed"
        )
        motion = motion._replace(treadles=(), picks=())
    if motion.lifts and not motion.is_rising_shed:
        findings.note("the lift plan is read as shafts lifted, though the file has a sinking shed")
    return motion


def _first_difference(motion: Motion) -> int:
    """Return the first pick (1-based) that treadling and lift plan give differently, or 0.

    In a sinking shed the lift plan may hold the shafts that go down or the others.
    """
    tied = tied_shafts(motion.treadles, motion.picks)
    lifted = {lift: frozenset(lift) for lift in set(motion.lifts)}  # few of a million differ
    lifts = tuple(map(lifted.__getitem__, motion.lifts))
    readings = [tied]
    if not motion.is_rising_shed:
        shafts: Shafts = frozenset().union(*set(tied), *lifted.values())
        risen = {sinking: shafts - sinking for sinking in set(tied)}
        readings.append(tuple(map(risen.__getitem__, tied)))
    return min(_first_unlike(reading, lifts) for reading in readings)


def _first_unlike(ours: tuple[Shafts, ...], theirs: tuple[Shafts, ...]) -> int:
    if ours == theirs:
        return 0
    pairs = enumerate(zip_longest(ours, theirs), 1)
    return next(number for number, (one, other) in pairs if one != other)


def _note_idle_picks(motion: Motion, findings: FileFindings) -> None:
    idle = [number for number, pick in enumerate(motion.lifts or motion.picks, 1) if not pick]
    if idle:
        what = "lift no shaft" if motion.lifts else "press no treadle"
        findings.note(f"{len(idle)} of the picks {what}, first pick {idle[0]}")


def _note_weft(sections: Sections, picks: int, findings: FileFindings) -> None:
    said = whole(uncommented(written(sections, "WEFT", "threads")))
    if picks and said and said != picks:
        findings.note(f"WEFT says {counted(said, 'pick')}, but {picks} are listed, and followed")
