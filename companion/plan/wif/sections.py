"""The text of a WIF file as sections of numbered lines, read in one pass.

General INI readers stop at a duplicate, give meaning to % and :, and forget line numbers, so the
lines are taken apart here. The format is that of R. Nielsen, "Weaving Information File (WIF)
Specification, Version 1.1", 20 April 1997 (tantradharma.com/maplehill/wif/wif1-1.txt), chapter V.
Its opening was read here, and J. R. L. Earl, "Using a WIF to Make a Drawdown by Hand" (2011), for
the heading and the comment sign; the rest, here and in the modules beside, is from memory of it.
"""

import codecs
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from companion.base.errors import WHOLE_FILE, PlanError, Problem
from companion.base.text import printable
from companion.plan.fault import MOST_TOLD, told
from companion.plan.values import MOST_TITLE

MAX_BYTES = 64 * 1024 * 1024
"""A guard against being handed the wrong file; the widest warp with colours is well below it."""
MAX_KEPT = 1_000
"""Problems remembered, so that those to be told can be put in the order of the file."""
COLOUR_NAMES = "PRIVATE COMPANION COLOR NAMES"
"""Our own section: the names of the plan's colours by their numbers in the palette. The format
lets any program keep sections of this form, and others pass over them."""
KEPT = frozenset(
    {
        "WIF", "CONTENTS", "COLOR PALETTE", "COLOR TABLE", "WEAVING", "WARP", "WEFT", "TEXT",
        "THREADING", "TIEUP", "TREADLING", "LIFTPLAN", "WARP COLORS", "WEFT COLORS",
        COLOUR_NAMES,
    }
)  # fmt: skip
"""Sections whose lines are kept; of the others only the name is."""
_ROWS = frozenset({"THREADING", "TIEUP", "TREADLING", "LIFTPLAN", "WARP COLORS", "WEFT COLORS"})
_WHOLE = re.compile(r"([+-]?)0*([0-9]{1,9})(?:\.0*)?")
_TRUE = frozenset({"true", "on", "yes", "1", "t", "y"})
_FALSE = frozenset({"false", "off", "no", "0", "f", "n"})


class SectionLine(NamedTuple):
    """One "key=value" line; a line without "=" is all key."""

    number: int
    """1-based in the file."""
    key: str
    """In lower case."""
    value: str


class Section(NamedTuple):
    """A section with its lines in the order of the file."""

    name: str
    """In upper case."""
    number: int
    """The line of its heading."""
    lines: list[SectionLine]

    def find(self, key: str) -> SectionLine | None:
        """Return the line with this key; the last one where there are several."""
        return next((line for line in reversed(self.lines) if line.key == key), None)

    def place(self, line: SectionLine) -> str:
        """Say where a line stands: "line 14, THREADING 3"."""
        return f"line {line.number}, {self.name} {printable(line.key)}".rstrip(", ")


Sections = Mapping[str, Section]


@dataclass(slots=True)
class FileFindings:
    """What a reader has to tell of one file: problems stop the work, notes do not."""

    problems: list[Problem] = field(default_factory=list)
    problems_left_out: int = 0
    notes: list[str] = field(default_factory=list)
    notes_left_out: int = 0

    def problem(self, line: int, place: str, fault: str, mend: str) -> None:
        """Record something that must be mended."""
        if len(self.problems) < MAX_KEPT:
            self.problems.append(Problem(place, fault, mend, line))
        else:
            self.problems_left_out += 1

    def note(self, text: str) -> None:
        """Record something that was tolerated, as a sentence without a full stop."""
        if len(self.notes) < MOST_TOLD:
            self.notes.append(text)
        else:
            self.notes_left_out += 1

    def raise_problems(self, source: str) -> None:
        """Raise every problem found, in the order of the file; return where there is none."""
        if self.problems:
            raise PlanError(source, told(self.problems, self.problems_left_out))

    def all_notes(self) -> tuple[str, ...]:
        """Return the notes, and how many were left out if any."""
        more = f"{self.notes_left_out} more notes like these were left out"
        return (*self.notes, *([more] if self.notes_left_out else []))


def whole(text: str) -> int | None:
    """Return a whole number written as 3, 03 or 3.0; None for anything else or too long."""
    found = _WHOLE.fullmatch(text)
    return int(found[1] + found[2]) if found else None


def is_true(text: str) -> bool | None:
    """Return what true/on/yes/1 or false/off/no/0 means; None for anything else."""
    word = uncommented(text).casefold()
    return True if word in _TRUE else False if word in _FALSE else None


def written(sections: Sections, name: str, key: str) -> str:
    """Return what a section says under a key; "" where it does not."""
    line = (section := sections.get(name)) and section.find(key)
    return line.value if line else ""


def spoken(text: str) -> str:
    """Return a title as one line of printable text, no longer than a plan's own may be."""
    words = " ".join(text[: 4 * MOST_TITLE].split())
    return "".join(letter for letter in words if letter.isprintable())[:MOST_TITLE].strip()


def uncommented(value: str) -> str:
    """Return a value without a comment after it; not for titles, where ";" may be meant."""
    return value.partition(";")[0].strip()


def items(value: str) -> list[str]:
    """Return the parts of a list such as "1, 2,3,"; blanks alone part items too."""
    return uncommented(value).replace(",", " ").split()


def decode(data: bytes, source: str) -> str:
    """Return the file's text with every line ended by a line feed.

    UTF-8 and UTF-16 where marked or valid, else Windows-1252. Text ends at a Ctrl-Z, as on DOS.
    Raises PlanError where it is not text, or larger than `MAX_BYTES`.
    """
    if len(data) > MAX_BYTES:
        fault = f"expected at most {MAX_BYTES // 1024 // 1024} megabytes, found {len(data)} bytes"
        raise PlanError(source, (Problem(WHOLE_FILE, fault, "Choose the draft's own file"),))
    text = _decoded(data).partition("\x1a")[0]
    if "\0" in text:
        fault = "expected a text file in the WIF format, found binary data"
        mend = "Save or export the draft as WIF and choose that file"
        raise PlanError(source, (Problem(WHOLE_FILE, fault, mend),))
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _decoded(data: bytes) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def split_sections(text: str, findings: FileFindings) -> dict[str, Section]:
    """Return the sections by name; of two with one name the last one counts, and is noted."""
    sections: dict[str, Section] = {}
    section: Section | None = None
    for number, raw in enumerate(text.split("\n"), 1):
        line = raw.strip()
        if line.startswith("["):
            section = _heading(line, number)
            if section.name in sections:
                findings.note(
                    f"line {number}: section {printable(section.name)} stands twice, "
                    "the last one is used"
                )
            sections[section.name] = section
        elif line and not line.startswith(";") and section and section.name in KEPT:
            key, _, value = line.partition("=")
            section.lines.append(SectionLine(number, key.strip().casefold(), value.strip()))
    return sections


def note_doubled_keys(sections: Sections, findings: FileFindings) -> None:
    """Note every key that stands twice in one section; numbered lists are looked at as rows."""
    for section in sections.values():
        if section.name in _ROWS:
            continue
        counts = Counter(line.key for line in section.lines)
        for key in (key for key, count in counts.items() if count > 1):
            line = section.find(key)
            if line:
                findings.note(f"{section.place(line)}: stands twice, the last one is used")


def _heading(line: str, number: int) -> Section:
    name = line[1:].partition("]")[0]
    return Section(" ".join(name.split()).upper(), number, [])
