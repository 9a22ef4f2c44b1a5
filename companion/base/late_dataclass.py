"""Dataclasses of a library that are finished when the first of each is made.

A dataclass compiles the text of six methods. pydantic describes itself in some 60 of them, most of
which no command of ours makes one of, and all would be compiled before the first line of a walk.
"""

import dataclasses
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any, Final

_WHOLE: Final = dataclasses.dataclass
_BEGUN: Final[dict[type, dict[str, Any]]] = {}
"""How each that is not finished is wanted."""


@contextmanager
def finished_late() -> Iterator[None]:
    """Have the dataclasses that are declared meanwhile finished late, and made without slots."""
    dataclasses.dataclass = _begun
    try:
        yield
    finally:
        dataclasses.dataclass = _WHOLE


def _begun(cls: Any = None, /, *, slots: bool = False, **wanted: Any) -> Any:
    if cls is None:
        return partial(_begun, slots=slots, **wanted)
    if "__init__" in cls.__dict__:  # where it makes its own, nobody would say when to finish it
        return _WHOLE(cls, slots=slots, **wanted)

    def finish_and_make(self: Any, *placed: Any, **named: Any) -> None:
        _finish(cls)
        cls.__init__(self, *placed, **named)

    _BEGUN[cls] = wanted
    cls.__init__ = finish_and_make
    return cls


def _finish(cls: type) -> None:
    """Finish what it comes of before it, since that is where it finds their fields."""
    for each in reversed(cls.__mro__):
        if each in _BEGUN:
            del each.__init__  # type: ignore[misc] # of the very class it was put on
            _WHOLE(each, **_BEGUN.pop(each))
