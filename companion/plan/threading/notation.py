"""The notation for numbers in order: "1-2-3-4", "1 to 4, 3 to 2", and "1+3, 2+4" for picks.

Numbers are separated by a dash, a comma or spaces, so "1-4" is two ends, one on shaft 1 and one on
shaft 4. The word "to" counts on from the number before it to the number after it, up or down:
"1 to 4, 3 to 2" is 1 2 3 4 3 2, and so is "1 to 4 to 2".
"""

import re
from collections.abc import Callable, Iterator, Sequence
from typing import Literal, NamedTuple, TypeVar

from companion.base.errors import UnfitTextError
from companion.base.text import quoted
from companion.plan.fault import Fault, Path
from companion.plan.values import MAX_ENDS, MAX_SHAFTS

_DASHES = "\\-\u2010-\u2015\u2212"  # word processors turn a typed dash into one of these
_TOKEN = re.compile(
    rf"(?P<number>[0-9]{{1,9}})(?![^\s{_DASHES},+])|(?P<mark>[{_DASHES},+])|(?P<word>[^\s{_DASHES},+]+)"
)
_NUMBERS_MEND = 'Write numbers in order, for example "1-2-3-4" or "1 to 4, 3 to 2"'
_PICKS_MEND = 'Write treadles in order, for example "1-2-3-4", or "1+3, 2+4" for two at once'
_SHORTEST_RUN = 3


class NotationError(UnfitTextError):
    """A text that is not in the notation; its fault tells where."""


class _Link(NamedTuple):
    """A number and what joins it to the number before."""

    by: Literal["", "to", "+"]
    number: int
    position: int
    """1-based character of the number."""


def read_numbers(text: str, *, least: int = 1, most: int = MAX_ENDS) -> tuple[int, ...]:
    """Return the numbers, 1 to `MAX_ENDS` of them, that a text such as "1 to 4, 3 to 2" writes.

    Raises NotationError, with its position, for what does not fit or is not from least to most;
    0 is where a dent may stay empty.
    """
    numbers: list[int] = []
    for link in _links(text, range(least, most + 1), _NUMBERS_MEND):
        if link.by == "+":
            raise NotationError(
                f'expected one number at a time, not "+" before character {link.position}',
                _NUMBERS_MEND,
            )
        numbers.extend(_numbers_up_to(link, numbers) if link.by else (link.number,))
        _bound(numbers)
    return tuple(numbers)


def read_picks(text: str, *, most: int = MAX_ENDS) -> tuple[tuple[int, ...], ...]:
    """Return, for each pick that `text` writes, the treadles pressed together in rising order.

    "1+3" is one pick with treadles 1 and 3; all else is as in `read_numbers`.
    """
    picks: list[tuple[int, ...]] = []
    for link in _links(text, range(1, most + 1), _PICKS_MEND):
        if link.by == "+":
            picks[-1] = _pressed_too(picks[-1], link)
        elif link.by == "to" and len(picks[-1]) > 1:
            raise NotationError(
                f'expected one treadle before "to {link.number}" at character {link.position}, '
                f"not {len(picks[-1])} pressed together",
                _PICKS_MEND,
            )
        else:
            picks.extend((number,) for number in _numbers_up_to(link, picks[-1] if picks else ()))
        _bound(picks)
    return tuple(picks)


def write_numbers(numbers: Sequence[int]) -> str:
    """Return `numbers` in the notation, runs of three and more with "to"."""
    pieces: list[str] = []
    start = 0
    while start < len(numbers):
        stop = _run_end(numbers, start)
        if stop - start >= _SHORTEST_RUN:
            pieces.append(f"{numbers[start]} to {numbers[stop - 1]}")
            start = stop
        else:
            pieces.append(str(numbers[start]))
            start += 1
    return ", ".join(pieces)


def _links(text: str, allowed: range, mend: str) -> Iterator[_Link]:
    """Yield every number with its link; two numbers need one separator, "to" or "+" at most."""
    by: Literal["", "to", "+"] = ""
    joint: re.Match[str] | None = None
    is_first = True
    for token in _TOKEN.finditer(text):
        word = token.group()
        if token.lastgroup == "word" and word.lower() != "to":
            raise NotationError(f"expected a number, not {_quote(token)}", mend)
        if token.lastgroup == "number":
            yield _Link(by, _number(token, allowed, mend), token.start() + 1)
            by, joint, is_first = "", None, False
        elif joint is not None or is_first:
            raise NotationError(f"expected a number before {_quote(token)}", mend)
        else:
            joint = token
            by = "+" if word == "+" else "" if token.lastgroup == "mark" else "to"
    if is_first:
        raise NotationError("expected numbers, not an empty text", mend)
    if joint is not None:
        raise NotationError(f"expected a number after {_quote(joint)}", mend)


def _number(token: re.Match[str], allowed: range, mend: str) -> int:
    number = int(token.group())
    if number not in allowed:
        limits = f"from {allowed.start} to {allowed.stop - 1:,}"
        raise NotationError(f"expected a number {limits}, not {_quote(token)}", mend)
    return number


def _numbers_up_to(link: _Link, before: Sequence[int]) -> range:
    """Return the numbers a link adds: its own, or all that "to" counts through."""
    if link.by != "to":
        return range(link.number, link.number + 1)
    step = 1 if link.number >= before[-1] else -1
    return range(before[-1] + step, link.number + step, step)


def _pressed_too(pick: tuple[int, ...], link: _Link) -> tuple[int, ...]:
    if link.number in pick:
        raise NotationError(
            f"expected different treadles in one pick, not treadle {link.number} twice "
            f"at character {link.position}",
            _PICKS_MEND,
        )
    return tuple(sorted((*pick, link.number)))


def _bound(found: Sequence[object]) -> None:
    """Stop before a slip of the finger fills the memory."""
    if len(found) > MAX_ENDS:
        raise NotationError(
            f"expected at most {MAX_ENDS:,} numbers in one text, and more came",
            "Check the numbers around the word to",
        )


def _run_end(numbers: Sequence[int], start: int) -> int:
    """Return the index after the longest rising or falling run by ones from `start`."""
    stop = start + 1
    if stop == len(numbers) or abs(numbers[stop] - numbers[start]) != 1:
        return stop
    step = numbers[stop] - numbers[start]
    while stop < len(numbers) and numbers[stop] - numbers[stop - 1] == step:
        stop += 1
    return stop


def _quote(token: re.Match[str]) -> str:
    """Return a token in quotes with its position, for a message."""
    return f"{quoted(token.group())} at character {token.start() + 1}"


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
            things = read()
        except NotationError as error:
            self.faults.append(Fault(path, error.fault, error.mend))
            return ()
        self._room -= len(things)
        if self._room >= 0:
            return things
        self.faults.append(too_long(path, "the numbers up to here"))
        return ()


def too_long(path: Path, what: str) -> Fault:
    """Return the fault of a plan that asks for more than any loom holds."""
    fault = f"expected at most {MAX_ENDS:,} in all, and {what} come to more"
    return Fault(path, fault, "Check the numbers, and the numbers of times")
