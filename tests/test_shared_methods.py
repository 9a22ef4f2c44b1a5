"""Dataclasses that share their methods do as whole ones do (docs.python.org, "dataclasses").

So does a typed dictionary whose types are not looked at (typing.python.org, "Typed dictionaries").
"""

import dataclasses
import typing
from typing import Any

import pytest
import typing_extensions

from companion.base.shared_methods import sharing_methods

Declared = dict[str, Any]


def _declared() -> Declared:
    """Return one class of each kind."""

    @dataclasses.dataclass(frozen=True, slots=True)
    class Yarn:
        name: str
        plies: int = 2

    @dataclasses.dataclass(slots=True, kw_only=True)
    class Cone:
        yarn: str
        grams: int = 250

    @dataclasses.dataclass
    class Marked:
        name: str

        def __hash__(self) -> int:
            return 7

        def __repr__(self) -> str:
            return "marked"

    @dataclasses.dataclass(frozen=True)
    class Dyed(Yarn):
        colours: list[str] = dataclasses.field(default_factory=list)

    @dataclasses.dataclass(order=True)
    class Doubled:
        plies: int

        def __post_init__(self) -> None:
            self.plies *= 2

    class Spool(typing.TypedDict, total=False):
        yarn: "str"

    class Bobbin(Spool):
        turns: "int"

    class Pirn(typing_extensions.TypedDict, closed=True):
        turns: "int"

    made = (Yarn, Cone, Marked, Dyed, Doubled, Spool, Bobbin, Pirn)
    return {each.__name__: each for each in made}


@pytest.fixture(params=["shared", "whole"])
def declared(request: pytest.FixtureRequest) -> Declared:
    """Return the classes, made in either way."""
    if request.param == "whole":
        return _declared()
    with sharing_methods():
        return _declared()


def test_a_frozen_one(declared: Declared) -> None:
    """It is compared, shown, hashed, replaced and stays as it is."""
    yarn = declared["Yarn"]
    silk = yarn("silk", plies=3)
    assert [each.name for each in dataclasses.fields(silk)] == ["name", "plies"]
    assert silk == yarn("silk", 3) != yarn("silk")
    assert repr(silk).endswith("Yarn(name='silk', plies=3)")
    assert {silk: 1}[yarn("silk", 3)] == 1
    assert dataclasses.replace(silk, plies=2) == yarn("silk")
    with pytest.raises(AttributeError):
        silk.name = "wool"
    with pytest.raises(TypeError):
        yarn()


def test_one_that_changes(declared: Declared) -> None:
    """It takes its fields by name, changes and has no hash; its own methods stay."""
    cone = declared["Cone"](yarn="silk")
    cone.grams = 500
    assert cone == declared["Cone"](yarn="silk", grams=500)
    for wrong in (lambda: hash(cone), lambda: declared["Cone"]("silk")):
        with pytest.raises(TypeError):
            wrong()
    assert (hash(declared["Marked"]("a")), repr(declared["Marked"]("a"))) == (7, "marked")


def test_those_that_make_themselves(declared: Declared) -> None:
    """One that comes of another, has fields made for it or changes what it was given."""
    dyed = declared["Dyed"]
    assert (dyed("silk").colours, dyed("silk").plies) == ([], 2)
    assert dyed("silk", colours=["red"]) != dyed("silk")
    assert declared["Doubled"](2).plies == 4
    assert declared["Doubled"](2) < declared["Doubled"](3)


def test_typed_dictionaries(declared: Declared) -> None:
    """What is made of one is a dictionary like any other; its keys can be told."""
    bobbin = declared["Bobbin"](yarn="silk", turns=90)
    assert bobbin == declared["Bobbin"]({"yarn": "silk"}, turns=90) == {"yarn": "silk", "turns": 90}
    assert (type(bobbin), declared["Spool"]()) == (dict, {})
    assert set(declared["Bobbin"].__annotations__) >= {"turns"}
    assert declared["Pirn"](turns=3) == {"turns": 3}


def test_what_is_declared_after_is_whole() -> None:
    """Also where loading the library failed."""
    with pytest.raises(ImportError), sharing_methods():
        raise ImportError
    assert typing.is_typeddict(_declared()["Bobbin"])
    assert typing_extensions.is_typeddict(_declared()["Pirn"])
    assert _declared()["Yarn"].__slots__ == ("name", "plies")
