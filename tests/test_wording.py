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
SEVERAL_WORDS = re.compile(r"[^\W\d_]{2,}\W* +\W*[^\W\d_]{2,}")
LOGGED = frozenset({"debug", "info", "warning", "error", "exception"})


def sentences(source: str) -> Iterator[tuple[int, str]]:
    """Yield the line and text of each string of several words, but for those that may be there."""
    tree = ast.parse(source)
    allowed = {id(inner) for node in ast.walk(tree) for inner in _allowed(node)}
    for node in ast.walk(tree):
        if not isinstance(node, ast.Constant) or id(node) in allowed:
            continue
        if isinstance(node.value, str) and SEVERAL_WORDS.search(node.value):
            yield node.lineno, node.value


def _allowed(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what is a docstring, a value of an enumeration, an error, or a line of the log."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        yield node.value
    is_enum = isinstance(node, ast.ClassDef) and any("Enum" in ast.unparse(b) for b in node.bases)
    if is_enum or isinstance(node, ast.Raise) or _is_error_or_log(node):
        yield from ast.walk(node)


def _is_error_or_log(node: ast.AST) -> bool:
    if not isinstance(node, ast.Call):
        return False
    name = ast.unparse(node.func)
    return name.endswith("Error") or name.rpartition(".")[2] in LOGGED


def test_a_sentence_is_told_from_what_is_none() -> None:
    """The check sees sentences, also in pieces, and passes over what is allowed."""
    source = """
class Kind(StrEnum):
    WRONG = "wrong shaft"
def told(number):
    "Return what is told."
    if number:
        raise ValueError(f"expected no number, not {number}")
    log.info("not written, %s", number)
    return f"Group {number} is complete." + "two" + " of them, "
"""
    assert [text for _, text in sentences(source)] == [" of them, ", " is complete."]


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
HEARERS = (*SILENT, "out", "cli", "record")
LOOKS = {"voice.py": "speaks numbers, whoever wrote the text", "mistaken.py": "reads its own table"}


def taken_apart(source: str, *, is_wording: bool) -> Iterator[tuple[int, str]]:
    """Yield the line and text of each call that looks at what may be a sentence.

    In `wording` that is any such call; elsewhere one that looks for letters at either end, or for
    the sign at the end of a sentence or a heading, as a file's ending or a path is none.
    """
    for node in ast.walk(ast.parse(source)):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
            continue
        name, texts = node.func.attr, [each for each in node.args if isinstance(each, ast.Constant)]
        is_told = any(re.match(r"[^\W\d_]|[.:?!]$", str(each.value)) for each in texts)
        cuts = name in {"replace", "split"} and bool(texts)
        if (is_wording and (name in APART or cuts)) or (name in BEGINNINGS and is_told):
            yield node.lineno, ast.unparse(node)


def test_what_takes_text_apart_is_told_from_what_does_not() -> None:
    """The check sees what looks at words, and passes over values made anew and file endings."""
    source = """
told.startswith("from")
told.endswith(":")
path.endswith((".toml", ".wif"))
told.replace("a pick", "some picks")
replace(name, colour="")
" ".join(told.split())
"""
    assert [line for line, _ in taken_apart(source, is_wording=True)] == [2, 3, 4, 5]
    assert [line for line, _ in taken_apart(source, is_wording=False)] == [2, 3]


@pytest.mark.parametrize("room", ["wording", *HEARERS])
def test_nothing_takes_a_sentence_apart(room: str) -> None:
    """What a sentence was made from is asked, never the sentence."""
    found = [
        f"{path.name}:{line}: {text}"
        for path in sorted((ROOT / room).rglob("*.py"))
        if path.name not in LOOKS or room != "wording"
        for line, text in taken_apart(
            path.read_text(encoding="utf-8"), is_wording=room == "wording"
        )
    ]
    assert found == []
