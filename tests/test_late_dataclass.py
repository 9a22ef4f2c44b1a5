"""Dataclasses that are finished when the first of each is made."""

import dataclasses
from typing import Any

import pytest

from companion.base.late_dataclass import finished_late


def _declared() -> tuple[Any, Any, Any]:
    """Return a dataclass, one that comes of it, and one that makes itself."""

    @dataclasses.dataclass(frozen=True, slots=True)
    class Yarn:
        name: str
        plies: int = 2

    @dataclasses.dataclass(frozen=True, slots=True)
    class Dyed(Yarn):
        colours: list[str] = dataclasses.field(default_factory=list)

    @dataclasses.dataclass(slots=True)
    class Own:
        name: str

        def __init__(self) -> None:
            self.name = "own"

    return Yarn, Dyed, Own


def test_it_is_the_same_dataclass_once_one_is_made() -> None:
    """Its fields, those it comes of, equality, text and being frozen are as declared."""
    with finished_late():
        yarn, dyed, own = _declared()
    assert not hasattr(yarn, "__dataclass_fields__")
    made = dyed("wool", colours=["red"])
    assert hasattr(yarn, "__dataclass_fields__")
    assert [each.name for each in dataclasses.fields(made)] == ["name", "plies", "colours"]
    assert (made, made.plies) == (dyed("wool", 2, ["red"]), 2)
    assert made != dyed("wool", 3)
    assert repr(yarn("silk")).endswith("Yarn(name='silk', plies=2)")
    assert {yarn("silk"): 1}[yarn("silk")] == 1
    with pytest.raises(dataclasses.FrozenInstanceError):
        made.name = "silk"
    assert repr(own()).endswith("Own(name='own')")


def test_a_wrong_call_is_refused_as_ever() -> None:
    """The first of them that is made may be made wrongly."""
    with finished_late():
        yarn, _, _ = _declared()
    with pytest.raises(TypeError, match="name"):
        yarn()
    assert yarn("silk").name == "silk"


def test_later_dataclasses_are_whole_at_once() -> None:
    """What is declared after, or where loading failed, is a usual dataclass."""
    with pytest.raises(ImportError), finished_late():
        raise ImportError
    yarn, _, _ = _declared()
    assert yarn.__slots__ == ("name", "plies")
