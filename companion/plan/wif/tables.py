"""The numbered lists of a WIF file: threading, tie-up, treadling, lift plan, colours."""

from typing import NamedTuple

from companion.base.text import quoted
from companion.plan.values import MAX_ENDS, MAX_SHAFTS
from companion.plan.wif.sections import FileFindings, Section, SectionLine, items, whole

MAX_TREADLES = 1_000
MAX_COLOURS = 1_000_000


class ListKind(NamedTuple):
    """What a numbered list counts and what it gives to each number."""

    counted: str
    most: int
    given: str
    largest: int
    is_needed: bool = True
    """Whether a faulty line stops the work; otherwise the line is noted and left out."""


KINDS = {
    "THREADING": ListKind("thread", MAX_ENDS, "shaft", MAX_SHAFTS),
    "TIEUP": ListKind("treadle", MAX_TREADLES, "shaft", MAX_SHAFTS),
    "TREADLING": ListKind("pick", MAX_ENDS, "treadle", MAX_TREADLES),
    "LIFTPLAN": ListKind("pick", MAX_ENDS, "shaft", MAX_SHAFTS),
    "WARP COLORS": ListKind("thread", MAX_ENDS, "colour", MAX_COLOURS, is_needed=False),
    "WEFT COLORS": ListKind("pick", MAX_ENDS, "colour", MAX_COLOURS, is_needed=False),
}


class ListedRow(NamedTuple):
    """One number's line."""

    line: SectionLine
    values: tuple[int, ...]
    """In rising order, each once; empty where the line gives none (nothing, or 0)."""
    is_sound: bool


def read_rows(section: Section, findings: FileFindings) -> dict[int, ListedRow]:
    """Return a numbered list's rows by number, in the file's order, which may leave some out."""
    kind = KINDS[section.name]
    lines: dict[int, SectionLine] = {}
    for line in section.lines:
        number = whole(line.key)
        if number is None or not 1 <= number <= kind.most:
            _fault(section, line, kind, findings, _expected_number(kind, line))
            continue
        if number in lines:
            findings.note(f"{section.place(line)}: stands twice, the last one is used")
        lines[number] = line
    # A list of a million threads holds few different values; each is taken apart once.
    texts = {line.value for line in lines.values()}
    parsed = {text: _values(text, kind.largest) for text in texts}
    rows = {}
    for number, line in lines.items():
        values, faulty = parsed[line.value]
        rows[number] = ListedRow(line, values, is_sound=not faulty)
        if faulty:
            _fault(section, line, kind, findings, _expected_value(kind, faulty))
    return rows


def _values(text: str, largest: int) -> tuple[tuple[int, ...], str]:
    """Return the numbers in a list, 0 left out, or none and the first item at fault."""
    numbers = set()
    for item in items(text):
        number = whole(item)
        if number is None or not 0 <= number <= largest:
            return (), item
        numbers.add(number)
    return tuple(sorted(numbers - {0})), ""


def _expected_value(kind: ListKind, faulty: str) -> str:
    wanted = f"{kind.given} number from 1 to {kind.largest}"
    return f"expected a {wanted}, found {quoted(faulty)}"


def _expected_number(kind: ListKind, line: SectionLine) -> str:
    found = quoted(line.key) if line.key else "nothing"
    line_form = f'"{kind.counted}={kind.given}" with {kind.counted} 1 to {kind.most}'
    return f"expected {line_form}, found {found}"


def _fault(
    section: Section, line: SectionLine, kind: ListKind, findings: FileFindings, fault: str
) -> None:
    place = section.place(line)
    if kind.is_needed:
        mend = f'Write the line as "{kind.counted}={kind.given}" or remove it'
        findings.problem(line.number, place, fault, mend)
    else:
        findings.note(f"{place}: {fault}; the line is left out")
