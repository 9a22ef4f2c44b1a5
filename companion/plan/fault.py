"""What is wrong inside a plan, by its path in the file rather than by line."""

from collections.abc import Iterable
from typing import NamedTuple, TypeAlias

from companion.base.errors import Problem
from companion.base.text import printable
from companion.base.toml_lines import Locator

Path: TypeAlias = tuple[str | int, ...]
"""Keys and 0-based list positions from the top of the plan: ("threading", 2, "block")."""

MAX_FAULTS = 200
"""Faults looked into; a file with more is not a plan, and guessing what it means takes for ever."""


MOST_TOLD = 50
"""Problems told of one file; of the others only their number is."""


def told(problems: Iterable[Problem], left_out: int = 0) -> tuple[Problem, ...]:
    """Return the first problems in the order of the file, and how many more there are.

    `left_out` are those beyond the ones given.
    """
    ordered = sorted(problems, key=lambda problem: problem.line)
    left_out += len(ordered[MOST_TOLD:])
    fault = f"expected no more problems, and there are {left_out} more"
    more = Problem("the rest of the file", fault, "Mend these first, then look again")
    return (*ordered[:MOST_TOLD], *([more] if left_out else []))


Unsure: TypeAlias = frozenset[str]
"""Dotted keys of the plan that could not be read, "warp.ends", or their whole table, "warp"."""


def is_unsure(unsure: Unsure, *keys: str) -> bool:
    """Say whether any of these keys or tables, or a part of one, could not be read."""
    return any(
        known == key or known.startswith(f"{key}.") or key.startswith(f"{known}.")
        for known in unsure
        for key in keys
    )


class Fault(NamedTuple):
    """One thing wrong, before its line is looked up."""

    path: Path
    fault: str
    """What was expected and what came, without a full stop."""
    mend: str
    """What to do about it, without a full stop."""

    def placed(self, lines: Locator) -> Problem:
        """Return it with its place, such as "line 12, warp.ends"; positions count from 1."""
        path, line = self.path, lines.line(self.path)
        name = ".".join(str(key + 1) if isinstance(key, int) else printable(key) for key in path)
        return Problem(f"line {line}, {name or 'the plan'}", self.fault, self.mend, line, path)
