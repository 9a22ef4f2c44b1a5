"""Reading a draft from a WIF file, with everything wrong in it told at once.

Tolerated and noted: what leaves no doubt about the threading. Refused: what would leave a weaver
with an end she cannot place. A WIF file holds no repeats, reed or sett; the plan gives those.
Messages count threads as the file does; ends are counted from the plan's first-end edge.
"""

from collections.abc import Iterator, Mapping
from itertools import groupby
from typing import NamedTuple

from companion.base.errors import WHOLE_FILE, PlanError, Problem
from companion.base.text import printable, quoted
from companion.plan.draft.draft import Draft, repeat_units
from companion.plan.values import MAX_ENDS, Side
from companion.plan.wif.colours import colour_names, read_names, read_palette
from companion.plan.wif.motion import read_motion
from companion.plan.wif.sections import (
    FileFindings,
    Section,
    Sections,
    is_true,
    items,
    note_doubled_keys,
    split_sections,
    spoken,
    uncommented,
    whole,
    written,
)
from companion.plan.wif.tables import MAX_COLOURS, ListedRow, read_rows

_UNLISTED = frozenset({"WIF", "CONTENTS"})
"""Sections that CONTENTS need not name (from memory)."""


class WifReading(NamedTuple):
    """A draft, and what was tolerated in reading it."""

    draft: Draft
    notes: tuple[str, ...]
    """Each a sentence without a full stop."""


def read_wif(text: str, *, name: str, first_end: Side, draft_first_end: Side) -> WifReading:
    """Return the draft a WIF file holds, with notes on what was tolerated.

    Args:
        text: the file's text, as `decode` gives it.
        name: the file's name as the weaver gave it, for messages.
        first_end: the edge where end 1 of the plan is, "right" or "left".
        draft_first_end: the edge where thread 1 of the file lies; the format does not say. Where
            the two differ the threading and its colours are reversed.

    Raises:
        PlanError: with every problem found, each with its line.
    """
    findings = FileFindings()
    found = split_sections(text, findings)
    _refuse_other_files(found, name)
    sections = _by_contents(found, findings)
    note_doubled_keys(sections, findings)
    shafts = _threading(sections, findings)
    motion = read_motion(sections, findings)
    picks = len(motion.lifts or motion.picks)
    colours, weft = _colours(sections, len(shafts), picks, findings)
    _note_shafts(sections, shafts, findings)
    findings.raise_problems(name)
    if first_end != draft_first_end:
        shafts, colours = shafts[::-1], colours[::-1]
    title = spoken(written(sections, "TEXT", "title"))
    draft = Draft(shafts, colours, repeat_units(shafts), *motion, title, weft)
    return WifReading(draft, findings.all_notes())


def _refuse_other_files(sections: Sections, name: str) -> None:
    if "WIF" not in sections and "THREADING" not in sections:
        fault = "expected a WIF file with a [WIF] and a [THREADING] section, found neither"
        mend = "Export the draft as WIF and choose that file"
        raise PlanError(name, (Problem(WHOLE_FILE, fault, mend),))
    line = (weaving := sections.get("WEAVING")) and weaving.find("profile")
    if weaving and line and is_true(line.value):
        fault = "expected a threading end by end, found a profile draft, which shows blocks only"
        mend = "Write the blocks out as ends, or choose the draft that has them"
        raise PlanError(name, (Problem(weaving.place(line), fault, mend, line.number),))


def _by_contents(sections: Sections, findings: FileFindings) -> Sections:
    """Return the sections without those it lists as not there; what it forgets is believed."""
    if "WIF" not in sections:
        findings.note("there is no [WIF] section; the file is read as WIF 1.1 all the same")
    contents = sections.get("CONTENTS")
    if contents is None:
        return sections
    told = {" ".join(line.key.split()).upper(): is_true(line.value) for line in contents.lines}
    promised = {name for name, is_there in told.items() if is_there}
    for absent in sorted(promised - sections.keys()):
        findings.note(f"CONTENTS names {printable(absent)}, but the file has no such section")
    there = {key for key, section in sections.items() if section.lines} - promised - _UNLISTED
    denied = {key for key in there if told.get(key) is False}
    for key in sorted(there - denied):
        findings.note(f"CONTENTS does not name {key}, which is there")
    for key in sorted(denied):
        findings.note(
            f"CONTENTS says that there is no {key}, so what stands there is not used"
            if key != "THREADING"
            else "CONTENTS says that there is no THREADING, but there is one, which is followed"
        )
    return {key: section for key, section in sections.items() if key not in denied - {"THREADING"}}


def _threading(sections: Sections, findings: FileFindings) -> tuple[int, ...]:
    section = sections.get("THREADING")
    if section is None or not section.lines:
        place = f"line {section.number}, THREADING" if section else WHOLE_FILE
        mend = "Export the draft with its threading, or write the threading in the plan"
        findings.problem(0, place, "expected a threading, found none", mend)
        return ()
    rows = read_rows(section, findings)
    for thread, row in rows.items():
        if row.is_sound and len(row.values) != 1:
            found = printable(", ".join(str(shaft) for shaft in row.values)) or "none"
            fault = f"expected one shaft for thread {thread}, found {found}"
            mend = "Give the thread one shaft; one end goes through one heddle here"
            findings.problem(row.line.number, section.place(row.line), fault, mend)
    _report_gaps(section, rows, _threads_promised(sections, findings), findings)
    return tuple(rows[thread].values[0] for thread in sorted(rows) if rows[thread].values)


def _threads_promised(sections: Sections, findings: FileFindings) -> tuple[int, int]:
    """Return the threads that the warp promises and its line; 0 where it promises none."""
    section = sections.get("WARP")
    line = section and section.find("threads")
    if not (section and line):
        return 0, 0
    threads = whole(uncommented(line.value))
    if threads is None or threads < 1:
        findings.note(f"{section.place(line)}: {quoted(line.value)} is not a number of threads")
        return 0, 0
    if threads > MAX_ENDS:
        fault = f"expected at most {MAX_ENDS} threads, found {threads}"
        findings.problem(line.number, section.place(line), fault, "Correct the number of threads")
        return 0, 0
    return threads, line.number


def _report_gaps(
    section: Section,
    rows: Mapping[int, ListedRow],
    promised: tuple[int, int],
    findings: FileFindings,
) -> None:
    last = max(rows, default=0)
    place = f"line {section.number}, THREADING"
    mend = "Add a line for each of them"
    for gap in _runs(thread for thread in range(1, last + 1) if thread not in rows):
        fault = f"expected a shaft for every thread, found none for {gap}"
        findings.problem(section.number, place, fault, mend)
    threads, line = promised
    if threads > last:
        fault = f"expected {threads} threads in the threading, found {last}"
        mend = f"Thread the rest, or write Threads={last} here"
        findings.problem(line, f"line {line}, WARP threads", fault, mend)
    elif 0 < threads < last:
        findings.note(f"WARP says {threads} threads, the threading has {last}, which is followed")


def _runs(numbers: Iterator[int]) -> Iterator[str]:
    """Yield "thread 3" or "threads 5 to 9" for each unbroken run of rising numbers."""
    for _, run in groupby(enumerate(numbers), key=lambda pair: pair[1] - pair[0]):
        gap = [number for _, number in run]
        yield f"thread {gap[0]}" if len(gap) == 1 else f"threads {gap[0]} to {gap[-1]}"


def _colours(
    sections: Sections, ends: int, picks: int, findings: FileFindings
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the colour of each warp thread and of each pick; () for a weft without colours."""
    numbers = [
        _colour_numbers(sections, system, threads, findings)
        for system, threads in (("WARP", ends), ("WEFT", picks))
    ]
    every = set().union(*numbers)  # a million threads hold few colours
    used = {number for number in every if 0 < number <= MAX_COLOURS}
    names = colour_names(sorted(used), read_palette(sections, used, findings))
    names |= read_names(sections, used)
    names = {number: names.get(number, "") for number in every}
    warp, weft = (tuple(map(names.__getitem__, threads)) for threads in numbers)
    return warp, weft if any(weft) else ()


def _colour_numbers(
    sections: Sections, system: str, threads: int, findings: FileFindings
) -> tuple[int, ...]:
    """Return the palette's number for each thread of warp or weft; 0 is none."""
    default = next(iter(items(written(sections, system, "color"))), "")
    common = whole(default) or 0
    section = sections.get(f"{system} COLORS")
    rows = read_rows(section, findings) if section else {}
    numbers = [common] * threads
    for thread, row in rows.items():
        if row.values and thread <= threads:
            numbers[thread - 1] = row.values[0]
    if any(not 0 <= number <= MAX_COLOURS for number in set(numbers)):
        findings.note(f"{system} color: {quoted(default)} is not a colour number")
    return tuple(numbers)


def _note_shafts(sections: Sections, shafts: tuple[int, ...], findings: FileFindings) -> None:
    said, used = whole(uncommented(written(sections, "WEAVING", "shafts"))), max(shafts, default=0)
    if said is not None and said < used:
        findings.note(f"WEAVING says {said} shafts, the threading uses {used}")
