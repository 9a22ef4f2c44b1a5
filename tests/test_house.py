"""The house stays one that a newcomer can walk through: short functions, modules of one sitting."""

from __future__ import annotations

import ast
from pathlib import Path
from statistics import median

MODULES = {
    path: path.read_text(encoding="utf-8")
    for path in sorted((Path(__file__).parent.parent / "companion").rglob("*.py"))
}


def lengths() -> list[int]:
    """Return how many lines each function has, its signature and docstring with it."""
    return [
        (node.end_lineno or 0) - node.lineno + 1
        for text in MODULES.values()
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]


def test_half_of_all_functions_are_under_ten_lines() -> None:
    assert median(lengths()) < 10


def test_no_module_is_longer_than_400_lines() -> None:
    assert [path.name for path, text in MODULES.items() if text.count("\n") > 400] == []
