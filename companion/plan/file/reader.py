"""Reading a plan: its TOML file and the WIF file it may name, with all problems told together."""

import re
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

from companion.base.digest import sha256
from companion.base.errors import WHOLE_FILE, PlanError, Problem
from companion.base.text import quoted
from companion.base.toml_lines import Locator
from companion.plan.draft.build import compose
from companion.plan.draft.draft import Draft
from companion.plan.fault import Fault, Unsure, told
from companion.plan.file.toml import TomlError, read_toml
from companion.plan.file.validate import validated
from companion.plan.schema import PlanFile

MAX_PLAN_BYTES = 5_000_000
"""A guard against being handed the wrong file."""
_BYTE_ORDER_MARK = "\ufeff"


@dataclass(frozen=True)
class Plan:
    """A plan that was read without a problem."""

    file: PlanFile
    draft: Draft
    """What is threaded, tied and treadled, whether the plan or its WIF file gave it."""
    path: Path
    text: str
    """The plan file's whole text."""
    draft_text: str | None = None
    """The WIF file's whole text; None where the plan names none."""
    notes: tuple[str, ...] = ()
    """What was tolerated in the WIF file, each a sentence without a full stop."""

    @property
    def ends(self) -> int:
        """The threaded ends; floating selvedges come on top."""
        return self.file.selvedges.ends_in(len(self.draft.shafts))

    @property
    def ends_by_place(self) -> list[int]:
        """The ends in each place's heddle: 2 where the selvedge is doubled, else 1."""
        doubled = self.file.selvedges.doubled
        return [2] * doubled + [1] * (len(self.draft.shafts) - 2 * doubled) + [2] * doubled

    @cached_property
    def fingerprint(self) -> str:
        """SHA-256 of the plan's text and its WIF file's text, in hexadecimal."""
        # The length comes first so that text moved from one file to the other is noticed.
        both = f"{len(self.text)} {self.text}{self.draft_text or ''}"
        digest: str = sha256(both.encode(errors="surrogatepass")).hexdigest()
        return digest

    def problem(self, fault: Fault) -> Problem:
        """Return a fault of this plan with its place in the file."""
        return fault.placed(self._lines)

    @cached_property
    def _lines(self) -> Locator:
        return Locator(self.text)


class UnfitPlanError(PlanError):
    """A plan with problems whose draft is whole all the same, so that it can be judged further."""

    def __init__(self, error: PlanError, plan: Plan, unsure: Unsure) -> None:
        super().__init__(error.source, error.problems)
        self.plan = plan
        self.unsure = unsure


def read_plan(path: Path) -> Plan:
    """Return the plan in a TOML file, and in a WIF file beside it, or PlanError with all faults."""
    return _plan(plan_text(path), path, lambda name: draft_text(path.parent, name))


def plan_text(path: Path) -> str:
    """Return the whole text of a plan's file, or PlanError."""
    return _utf8(_bytes(path, str(path), MAX_PLAN_BYTES), str(path))


def parse_plan(text: str, name: str, draft_text: str | None = None) -> Plan:
    """Return the plan in a text, without touching files; PlanError with all faults.

    Args:
        text: the plan file's whole text.
        name: the file's name, for messages and `Plan.path`.
        draft_text: the text of the WIF file, as `Plan.draft_text` gave it.
    """

    def stored(draft: str) -> str:
        if draft_text is not None:
            return draft_text
        fault = f"expected the text of {quoted(draft)} beside the plan's, and it is missing"
        raise PlanError(draft, (Problem(WHOLE_FILE, fault, "Read the plan from its file"),))

    return _plan(text, Path(name), stored)


class _Wif(NamedTuple):
    """What came of the WIF file that a plan names, or of none."""

    draft: Draft | None = None
    text: str | None = None
    notes: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


def _plan(text: str, path: Path, load: Callable[[str], str]) -> Plan:
    source = str(path)
    try:
        tables = read_toml(text.removeprefix(_BYTE_ORDER_MARK))
    except TomlError as error:
        problem = error.problem if re.search(_PLAN, text.replace("\r", "\n")) else _NO_PLAN
        raise PlanError(source, (_A_DRAFT if _looks_like_wif(text) else problem,)) from None
    file, faults, unsure = validated(tables)
    if file is None:
        raise _error(source, text, faults, _Wif())
    wif = _wif(file, load)
    draft, more = compose(file, wif.draft, unsure | ({"draft"} if wif.problems else frozenset()))
    faults += more
    if draft is None:
        raise _error(source, text, faults, wif)
    plan = Plan(file, draft, path, text, wif.text, wif.notes)
    if faults or wif.problems:
        laid = (fault.path[:2] for fault in more if fault.path[0] in {"colours", "reed"})
        unplaced = {".".join(map(str, path)) for path in laid}
        raise UnfitPlanError(_error(source, text, faults, wif), plan, unsure | unplaced)
    return plan


_PLAN = (
    rf"(?im)^\s*(?:[\w.\"'-]+\s*=|\[+\s*[\w.\"'-]+\s*\]|(?:{'|'.join(PlanFile.model_fields)})\b)"
)
"""Matches a line with the shape of TOML, or that begins with a word of a plan's."""
_NO_PLAN = Problem(
    WHOLE_FILE,
    "expected a plan, and this is another kind of file",
    "Make a plan with companion new FILE.toml, or name another file",
)
_A_DRAFT = Problem(
    WHOLE_FILE,
    "expected a plan, and this is a draft in the WIF format",
    'Give it a name that ends in .wif, or name it in a plan, as in draft = "towels.wif"',
)


def _looks_like_wif(text: str) -> bool:
    return "[threading]" in text.lower() and "[[threading]]" not in text.lower()


def _wif(file: PlanFile, load: Callable[[str], str]) -> _Wif:
    if file.draft is None:
        return _Wif()
    from companion.plan.wif.reader import read_wif  # noqa: PLC0415 - few plans name a file

    try:
        text = load(file.draft)
        draft, notes = read_wif(
            text,
            name=file.draft,
            first_end=file.loom.first_end,
            draft_first_end=file.draft_first_end,
        )
    except PlanError as error:
        return _Wif(problems=error.problems)
    return _Wif(draft, text, notes)


def _error(source: str, text: str, faults: Sequence[Fault], wif: _Wif) -> PlanError:
    """Return all problems in the order of the file, the draft's where the plan names it."""
    lines = Locator(text)
    named = Fault(("draft",), "", "").placed(lines)
    problems = [fault.placed(lines) for fault in faults]
    problems += [
        each._replace(place=f"{named.place}, {each.place}", line=named.line, path=named.path)
        for each in wif.problems
    ]
    return PlanError(source, told(problems))


def draft_text(folder: Path, name: str) -> str:
    """Return the text of a WIF file in, below or outside the plan's folder."""
    from companion.plan.wif.sections import MAX_BYTES, decode  # noqa: PLC0415 - as above

    return decode(_bytes(folder / name, name, MAX_BYTES), name)


def _bytes(path: Path, name: str, most: int) -> bytes:
    """Return a file's bytes; what is wrong with the file is the one problem."""
    mend, shown = "Check the name and the folder", quoted(path.name or str(path))
    try:
        if path.is_dir():
            raise _unread(
                name, f"expected a file, and {shown} is a folder", "Name the file inside the folder"
            )
        if not path.exists():
            fault = f"expected the file {shown}, and there is none"
            raise _unread(name, fault, _like(path) or mend)
        if not path.is_file():
            raise _unread(name, f"expected a file, and {shown} is a device or a pipe", mend)
        with path.open("rb") as file:
            data = file.read(most + 1)
    except (OSError, ValueError) as error:  # ValueError: a name with a null character
        said = getattr(error, "strerror", None) or "the name cannot be a file's"
        raise _unread(name, f"expected to read the file {shown}: {said}", mend) from None
    if len(data) > most:
        fault = f"expected at most {most // 1_000_000} million bytes, and there are more"
        raise _unread(name, fault, "Check that this is the right file")
    return data


def _like(path: Path) -> str:
    """Return to name the file beside it that was most likely meant, "" where none is like it."""
    from difflib import get_close_matches  # noqa: PLC0415 - only wanted after a slip

    kinds = {".wif"} if path.suffix == ".wif" else {".wif", ".toml"}
    with suppress(OSError):
        there = {each.stem: each.name for each in path.parent.iterdir() if each.suffix in kinds}
        for near in get_close_matches(path.stem, there, n=1):
            return f"Name {quoted(there[near])} if that is meant"
    return ""


def _unread(name: str, fault: str, mend: str) -> PlanError:
    return PlanError(name, (Problem(WHOLE_FILE, fault, mend),))


def _utf8(data: bytes, name: str) -> str:
    if b"\0" in data and not data.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        raise PlanError(name, (_NO_PLAN,))  # a picture, say
    try:
        return data.decode()
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        fault = f"expected UTF-8 text, and byte {error.start + 1} of the file is not"
        mend = "Save the file again with the encoding UTF-8"
        raise PlanError(name, (Problem(f"line {line}", fault, mend, line),)) from None
