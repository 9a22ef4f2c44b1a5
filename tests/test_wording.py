"""Every sentence is in one place: other rooms hold data, and `wording` makes words of it."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parent.parent / "companion"
SILENT = ("loom", "guide", "job", "diagnosis", "session")
"""Rooms that say nothing of their own; errors and the log of faults excepted."""
FAULTS = "from companion.plan.fault import"
"""Modules of the loom that take this in tell what is wrong with a plan, which is an error."""
FIELD = "\0"
"""Stands for what is put into a text, by any of the ways that there are."""
PUT_IN = re.compile(r"\{[^{}]*\}|%[sdr]")
SENTENCE = re.compile(
    r"[^\W\d_]{2,}\W* +\W*[^\W\d_]{2,}"  # two words
    r"|[^\W\d_]{3,}[^\w\0]* [^\w\0]*\0|\0[^\w\0]* [^\w\0]*[^\W\d_]{3,}"  # one, and what is put in
    r"|^[A-Z][a-z]+[.!?:]"  # one alone, that begins as a sentence does and ends
)
NAME = re.compile(r"[a-z]+'?([ -][a-z]+'?)*")
"""How the values of an enumeration are named."""


def sentences(source: str) -> Iterator[tuple[int, str]]:
    """Yield the line and text of each string of several words, but for those that may be there."""
    tree = ast.parse(source)
    allowed = {id(inner) for node in ast.walk(tree) for inner in _allowed(node)}
    whole = [node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)]
    parts = {id(part) for node in whole for part in node.values}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant | ast.JoinedStr) and id(node) not in allowed | parts:
            text = _whole(node)
            if SENTENCE.search(text):
                yield node.lineno, text


def _whole(node: ast.Constant | ast.JoinedStr) -> str:
    """Return a text with a sign for each thing that is put into it; "" for what is no text."""
    if isinstance(node, ast.JoinedStr):
        return "".join(_whole(e) if isinstance(e, ast.Constant) else FIELD for e in node.values)
    return PUT_IN.sub(FIELD, node.value) if isinstance(node.value, str) else ""


def _allowed(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what is a docstring, a value of an enumeration, an error, or a line of the log."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        yield node.value
    if isinstance(node, ast.ClassDef) and any("Enum" in ast.unparse(b) for b in node.bases):
        values = (each.value for each in node.body if isinstance(each, ast.Assign))
        yield from (each for each in values if NAME.fullmatch(getattr(each, "value", "")))
    if isinstance(node, ast.Raise) or _is_error_or_log(node):
        yield from ast.walk(node)


def _is_error_or_log(node: ast.AST) -> bool:
    if not isinstance(node, ast.Call):
        return False
    name = ast.unparse(node.func)
    return name.endswith("Error") or name.startswith("_log.")


def test_a_sentence_is_told_from_what_is_none() -> None:
    """The check sees sentences, also in pieces, and passes over what is allowed."""
    source = """
class Kind(StrEnum):
    WRONG = "wrong shaft"
    FULL = "The disk is full."
def told(number):
    "Return what is told."
    if number:
        raise ValueError(f"expected no number, not {number}")
    _log.info("not written, %s", number)
    self.warning("not known yet")
    tell({"say": "Good."}, f"End {number}: shaft {shaft}", "{} ends".format(number))
    tell("%d ends" % number)
    return f"Group {number} is complete." + "two" + " of them, " + f"{path}.{room}" + "walk.ends"
"""
    found = sorted(text.replace(FIELD, "_") for _, text in sentences(source))
    assert found == [
        " of them, ", "End _: shaft _", "Good.", "Group _ is complete.", "The disk is full.",
        "_ ends", "_ ends", "not known yet",
    ]  # fmt: skip


@pytest.mark.parametrize("room", SILENT)
def test_no_room_but_wording_has_sentences(room: str) -> None:
    """Whatever is said or printed is data until `wording` gets it."""
    sources = {path: path.read_text(encoding="utf-8") for path in (ROOT / room).rglob("*.py")}
    found = [
        f"{path.name}:{line}: {text}"
        for path, source in sorted(sources.items())
        if room != "loom" or FAULTS not in source
        for line, text in sentences(source)
    ]
    assert found == []


APART = frozenset(
    {"startswith", "endswith", "removeprefix", "removesuffix", "partition", "rpartition", "rsplit"}
    | {"splitlines", "find", "index", "isdigit", "isalpha", "isupper", "istitle"}
)
"""Methods that look at text to decide something."""
BEGINNINGS = frozenset({"startswith", "endswith", "removeprefix", "removesuffix"})
INSIDE = re.compile(r"[.,:;?!] |[^\W\d_]{2,} ")
"""What parts the words of a sentence, or words in a row."""
HEARERS = (*SILENT, "out", "cli", "record")
LOOKS = {"voice.py": "speaks numbers, whoever wrote the text", "mistaken.py": "reads its own table"}
READS = {"view.py": "a slip, as it is typed", "spoken.py": "the forms of commands"}


def taken_apart(source: str, *, is_wording: bool) -> Iterator[tuple[int, str]]:
    """Yield the line and text of each call that looks at what may be a sentence.

    In `wording` that is any such call; elsewhere one that looks for letters at either end, or for
    the sign at the end of a sentence or a heading, as a file's ending or a path is none; and one
    that looks inside for words, or for a sign that parts them.
    """
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Compare) and _looks_inside(node):
            yield node.lineno, ast.unparse(node)
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
            continue
        name, texts = node.func.attr, [each for each in node.args if isinstance(each, ast.Constant)]
        is_told = any(re.match(r"[^\W\d_]|[.:?!]$", str(each.value)) for each in texts)
        cuts = name in {"replace", "split"} and bool(texts)
        is_pattern = ast.unparse(node.func).startswith("re.")
        sign = r"(?<![\\\w])[^\W\d_]{3,}" if is_pattern else INSIDE
        if name not in BEGINNINGS:
            is_told = any(re.search(sign, str(each.value)) for each in texts)
        looks = name in APART | {"replace", "split", "count"} or is_pattern
        if (is_wording and (name in APART or cuts)) or (looks and is_told):
            yield node.lineno, ast.unparse(node)


def _looks_inside(node: ast.Compare) -> bool:
    is_in = isinstance(node.ops[0], ast.In | ast.NotIn)
    text = node.left.value if isinstance(node.left, ast.Constant) else ""
    return is_in and INSIDE.search(str(text)) is not None


def test_what_takes_text_apart_is_told_from_what_does_not() -> None:
    """The check sees what looks at words, and passes over values made anew and file endings."""
    source = """
told.startswith("from")
told.endswith(":")
path.endswith((".toml", ".wif"))
told.replace("a pick", "some picks")
replace(name, colour="")
" ".join(told.split())
re.search(r"Group (\\d+)", told)
told.split(": ")
is_over = "is complete" in told
re.fullmatch(r"\\d+", typed)
name.replace(" ", "-")
"""
    assert [line for line, _ in taken_apart(source, is_wording=True)] == [2, 3, 4, 5, 8, 9, 10, 12]
    assert [line for line, _ in taken_apart(source, is_wording=False)] == [2, 3, 5, 8, 9, 10]


@pytest.mark.parametrize("room", ["wording", *HEARERS])
def test_nothing_takes_a_sentence_apart(room: str) -> None:
    """What a sentence was made from is asked, never the sentence."""
    found = [
        f"{path.name}:{line}: {text}"
        for path in sorted((ROOT / room).rglob("*.py"))
        if path.name not in (LOOKS if room == "wording" else READS)
        for line, text in taken_apart(
            path.read_text(encoding="utf-8"), is_wording=room == "wording"
        )
    ]
    assert found == []
