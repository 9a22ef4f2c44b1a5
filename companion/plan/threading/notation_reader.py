"""Reading many texts in the notation from one plan, and keeping what is wrong with each."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from companion.plan.fault import Fault
from companion.plan.threading.notation import NotationError, read_numbers, read_picks
from companion.plan.values import MAX_ENDS, MAX_SHAFTS

if TYPE_CHECKING:
    from collections.abc import Callable

    from companion.plan.fault import Path

T = TypeVar("T")


class NotationReader:
    """Reads texts of shafts or treadles; a text with a fault reads as empty.

    All texts together may hold `MAX_ENDS` numbers, so that a small file cannot fill the memory.
    """

    def __init__(self) -> None:
        self.faults: list[Fault] = []
        self._room = MAX_ENDS

    def numbers(self, text: str, path: Path) -> tuple[int, ...]:
        """Return the shafts that the text at `path` writes."""
        return self._read(lambda: read_numbers(text, most=MAX_SHAFTS), path)

    def picks(self, text: str, path: Path) -> tuple[tuple[int, ...], ...]:
        """Return the treadles of each pick that the text at `path` writes."""
        return self._read(lambda: read_picks(text, most=MAX_SHAFTS), path)

    def _read(self, read: Callable[[], tuple[T, ...]], path: Path) -> tuple[T, ...]:
        if self._room < 0:
            return ()
        try:
            return self._within(read(), path)
        except NotationError as error:
            self.faults.append(Fault(path, error.fault, error.mend))
            return ()

    def _within(self, things: tuple[T, ...], path: Path) -> tuple[T, ...]:
        """Return the things while there is room; the first time there is none is a fault."""
        self._room -= len(things)
        if self._room >= 0:
            return things
        self.faults.append(too_long(path, "the numbers up to here"))
        return ()


def too_long(path: Path, what: str) -> Fault:
    """Return the fault of a plan that asks for more than any loom holds."""
    fault = f"expected at most {MAX_ENDS:,} in all, and {what} come to more"
    return Fault(path, fault, "Check the numbers, and the numbers of times")
