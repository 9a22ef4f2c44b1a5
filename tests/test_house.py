"""The house stays one that a newcomer can walk through: short functions, modules of one sitting."""

from __future__ import annotations

import ast
import tempfile
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

from front_door import environment

if TYPE_CHECKING:
    from collections.abc import Iterator

MODULES = {
    path: path.read_text(encoding="utf-8")
    for path in sorted((Path(__file__).parent.parent / "companion").rglob("*.py"))
}


_PARTS = ("body", "handlers", "orelse", "finalbody", "cases")
"""Where statements stand in others."""


def lengths(within: ast.AST) -> Iterator[int]:
    """Yield how many lines each function has, its signature and docstring with it."""
    for part in _PARTS:
        for node in getattr(within, part, ()):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield (node.end_lineno or 0) - node.lineno + 1
            yield from lengths(node)


def test_half_of_all_functions_are_under_ten_lines() -> None:
    modules = map(ast.parse, MODULES.values())
    assert median(length for module in modules for length in lengths(module)) < 10


def test_what_tests_and_their_commands_leave_behind_goes_with_the_run() -> None:
    assert Path(tempfile.gettempdir()).name.startswith("companion-tests-")
    assert environment(Path())["TMPDIR"] == tempfile.gettempdir()


def test_no_module_is_longer_than_400_lines() -> None:
    assert [path.name for path, text in MODULES.items() if text.count("\n") > 400] == []
