"""A value does as the standard library's frozen dataclass does (docs.python.org, "dataclasses")."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING, ClassVar

import pytest

from companion.base.value import Value

if TYPE_CHECKING:
    from collections.abc import Callable


class Place(Value):
    row: int
    name: str = "end"
    near: tuple[int, ...] = field(default=(), repr=False)
    most: ClassVar[int] = 9


class Deep(Place, kw_only=True):
    depth: int


class Reference:
    """The same two as dataclasses."""

    @dataclass(frozen=True)
    class Place:
        row: int
        name: str = "end"
        near: tuple[int, ...] = field(default=(), repr=False)
        most: ClassVar[int] = 9

    @dataclass(frozen=True, kw_only=True)
    class Deep(Place):
        depth: int


MADE: tuple[Callable[[type], object], ...] = (
    lambda kind: kind(1),
    lambda kind: kind(1, "pick"),
    lambda kind: kind(row=1, near=(2, 3)),
    lambda kind: kind(1, near=(2,), name="x"),
    lambda kind: kind(1, depth=2),
    lambda kind: kind(1, "pick", (4,), depth=2),
)
REFUSED: tuple[Callable[[type], object], ...] = (
    lambda kind: kind(),
    lambda kind: kind(name="x", depth=1),
    lambda kind: kind(1, row=1),
    lambda kind: kind(1, "a", (), 9),
    lambda kind: kind(1, other=2),
    lambda kind: kind(1, most=2),
)


def made(kind: type, make: Callable[[type], object]) -> object:
    """Return a value, or None where it is refused."""
    try:
        return make(kind)
    except TypeError:
        return None


@pytest.mark.parametrize("make", [*MADE, *REFUSED])
def test_is_made_as_a_dataclass_is(make: Callable[[type], object]) -> None:
    for kind, reference in ((Place, Reference.Place), (Deep, Reference.Deep)):
        mine, theirs = made(kind, make), made(reference, make)
        assert repr(mine) == repr(theirs).replace("Reference.", "")


@pytest.mark.parametrize("make", MADE[:4])
def test_equals_its_like_alone(make: Callable[[type], object]) -> None:
    one, same = make(Place), make(Place)
    assert one == same
    assert hash(one) == hash(same)
    assert one != Place(8)
    assert one != make(Reference.Place)


def test_is_frozen_and_changed_in_a_copy_alone() -> None:
    place = Place(1)
    with pytest.raises(AttributeError, match="frozen"):
        setattr(place, "row", 2)  # noqa: B010 - mypy would not have it otherwise
    with pytest.raises(AttributeError, match="frozen"):
        delattr(place, "row")
    assert replace(place, row=2) == Place(2)
    assert [each.name for each in fields(place)] == ["row", "name", "near"]


def test_is_taken_apart_by_match() -> None:
    match Deep(1, "pick", depth=3):
        case Place(row, name):
            assert (row, name) == (1, "pick")
