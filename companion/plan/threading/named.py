"""Threadings that weavers know by name.

The sequence is the identity and the name only a label, since names differ from book to book: what
one calls rosepath another calls bird's eye. Place 1 comes first. Every entry says where its digits
were seen; "from memory" and "common practice, no source" are meant as warnings.
"""

import re
from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

from companion.plan.threading.notation import read_numbers


class NamedThreading(NamedTuple):
    """One repeat of a threading in common use."""

    key: str
    """How a plan names it: `named = "point 4"`; the number is of shafts."""
    label: str
    """What it is called aloud."""
    shafts: tuple[int, ...]
    """The shaft of each end of one repeat."""
    source: str
    note: str = ""


_MEMORY = "from memory"
_TWILLS = "weavingspace.co.uk, Twills on 4 shafts"
_TRANSPOSED = "fibresofbeing.wordpress.com, 8 November 2008"
_LACE = "gistyarn.com, How to weave lace, part three"
_MAY = "Carrie May, Loom Controlled Lace Weaves"
_CRACKLE = "Reno Fiber Guild, crackle notes; leighsfiberjournal.blogspot.com, 24 October 2023"
_OVERSHOT = "interweave.com, Draft an overshot threading now"
_OPPOSITES = "Blocks on opposite shafts; repeat each to the length of its block"
_MS_AND_OS = "weeverwoman.blogspot.com, July 2013"
_SUMMER = (
    "from memory (Atwater, Tidball); that tie-down shafts 1 and 2 alternate with the pattern "
    "shaft: leighsfiberjournal.blogspot.com, October 2008"
)
_PETRINI = "Marcy Petrini, blog 72"
_SPOT = "Repeat to the length of the spot"
_DOUBLE = "weavingspace.co.uk, Threading double weave on 4 shafts"
_NOT_PLAIN = "Weaves no plain weave"
_BALANCE = "One end more on shaft 1 at the far edge balances it"
_OTHER_HUCK = "An arrangement on other shafts; do not mix it with huck a and b"

_TABLE = (
    # twills
    ("krokbragd 3", "krokbragd", "1-2-3-2", _MEMORY, "Weft-faced; a point on three shafts"),
    ("rosepath 4 a", "rosepath", "1-2-3-4-1-4-3-2", _TWILLS, "The form of eight ends"),
    (
        "rosepath 4 b",
        "rosepath",
        "1-2-3-4-1-2-1-4-3-2",
        f"{_TWILLS} names the form of ten ends; digits built from its rule",
        "The form of ten ends",
    ),
    (
        "rosepath 8",
        "rosepath",
        "1 to 8, 1, 8 to 2",
        "handwovenmagazine.com, Rosepath border motif design",
        _BALANCE,
    ),
    (
        "goose-eye 4",
        "goose eye",
        "1 to 4, 1 to 4, 3 to 1, 4 to 2",
        _MEMORY,
        "Some call bird's eye or a plain point by this name",
    ),
    ("broken 4", "broken twill", "1-2-4-3", _MEMORY, "The odd and even break is meant"),
    ("broken 4 b", "broken twill", "1-2-3-4-2-1-4-3", _MEMORY, "The odd and even break is meant"),
    (
        "herringbone 4",
        "herringbone",
        "1 to 4, 1 to 4, 2-1-4-3, 2-1-4-3",
        f"dixieweaver.com, Broken twill; {_TWILLS}, gives the rule of a break every eight ends",
        "The odd and even break is meant",
    ),
    ("transposed 8", "transposed twill", "2-1-4-3-6-5-8-7", _TRANSPOSED, ""),
    # block weaves
    ("overshot a", "overshot block A", "1-2", _OVERSHOT, "Neighbouring blocks share an end"),
    ("overshot b", "overshot block B", "2-3", _OVERSHOT, "Neighbouring blocks share an end"),
    ("overshot c", "overshot block C", "3-4", _OVERSHOT, "Neighbouring blocks share an end"),
    ("overshot d", "overshot block D", "4-1", _OVERSHOT, "Neighbouring blocks share an end"),
    ("monks-belt a", "monk's belt block A", "1-2", _MEMORY, _OPPOSITES),
    ("monks-belt b", "monk's belt block B", "3-4", _MEMORY, _OPPOSITES),
    ("ms-and-os a", "M's and O's block A", "1-2-1-2-3-4-3-4", _MS_AND_OS, _NOT_PLAIN),
    ("ms-and-os b", "M's and O's block B", "1-3-1-3-2-4-2-4", _MS_AND_OS, _NOT_PLAIN),
    (
        "ms-and-os c",
        "M's and O's block C",
        "3-2-3-2-1-4-1-4",
        f"{_MS_AND_OS}, who credits Alderman",
        _NOT_PLAIN,
    ),
    ("crackle a", "crackle block A", "1-2-3-2", _CRACKLE, ""),
    ("crackle b", "crackle block B", "2-3-4-3", _CRACKLE, ""),
    ("crackle c", "crackle block C", "3-4-1-4", _CRACKLE, ""),
    ("crackle d", "crackle block D", "4-1-2-1", _CRACKLE, ""),
    (
        "crackle abcd",
        "crackle blocks A to D",
        "1-2-3-2-1, 2-3-4-3-2, 3-4-1-4-3, 4-1-2-1-4",
        _CRACKLE,
        "Each block once, then its first shaft again as the end that leads to the next",
    ),
    ("summer-and-winter a", "summer and winter block A", "1-3-2-3", _SUMMER, "Pattern shaft 3"),
    ("summer-and-winter b", "summer and winter block B", "1-4-2-4", _SUMMER, "Pattern shaft 4"),
    ("summer-and-winter c", "summer and winter block C", "1-5-2-5", _SUMMER, "Pattern shaft 5"),
    ("summer-and-winter d", "summer and winter block D", "1-6-2-6", _SUMMER, "Pattern shaft 6"),
    ("summer-and-winter e", "summer and winter block E", "1-7-2-7", _SUMMER, "Pattern shaft 7"),
    ("summer-and-winter f", "summer and winter block F", "1-8-2-8", _SUMMER, "Pattern shaft 8"),
    # lace
    ("spot-bronson a", "spot Bronson block A", "1-2", _PETRINI, _SPOT),
    ("spot-bronson b", "spot Bronson block B", "1-3", _PETRINI, _SPOT),
    ("spot-bronson c", "spot Bronson block C", "1-4", _PETRINI, _SPOT),
    ("huck a", "huck block A", "1-3-1-3-1", _LACE, ""),
    ("huck b", "huck block B", "2-4-2-4-2", _LACE, ""),
    ("huck other a", "huck block A", "1-2-1-2-1", _MAY, _OTHER_HUCK),
    ("huck other b", "huck block B", "4-3-4-3-4", _MAY, _OTHER_HUCK),
    ("bronson-lace a", "Bronson lace block A", "1-3-1-3-1-2", _LACE, "The last end ties down"),
    ("bronson-lace b", "Bronson lace block B", "1-4-1-4-1-2", _MEMORY, "The last end ties down"),
    # two layers, and two colours
    ("double-weave 4", "double weave", "1-2-3-4", _DOUBLE, "Layers on shafts 1 and 3, and 2 and 4"),
    (
        "double-weave 4 parallel",
        "double weave",
        "1-3-2-4",
        _DOUBLE,
        "Layers on shafts 1 and 2, and 3 and 4",
    ),
    (
        "shadow-weave 4 a",
        "shadow weave",
        "1-3-2-4-3-1-4-2",
        "gistyarn.com, How to weave shadow weave; the order called Atwater's",
        "Dark and light ends alternate, dark first",
    ),
    (
        "shadow-weave 4 b",
        "shadow weave",
        "1-2-3-4-2-1-4-3",
        "weave-away.blogspot.com, September 2011, after Marian Powell (1976)",
        "Dark and light ends alternate, dark first",
    ),
)


@cache
def named_threadings() -> Mapping[str, NamedThreading]:
    """Return every named threading by its key."""
    entries = [*_straight_and_point(), *_advancing()]
    entries += [
        NamedThreading(key, label, read_numbers(ends), source, note)
        for key, label, ends, source, note in _TABLE
    ]
    return MappingProxyType({entry.key: entry for entry in entries})


def find_named(name: str) -> NamedThreading | None:
    """Return the threading a weaver names, however she joins the words; None where unknown."""
    return _by_words().get(_words(name))


def nearest_names(name: str) -> tuple[str, ...]:
    """Return up to four keys that resemble an unknown name, the nearest first."""
    import difflib  # noqa: PLC0415 - only a slip needs it

    words, text = _words(name), " ".join(_words(name))
    known = {" ".join(other): entry.key for other, entry in _by_words().items()}
    begun = [other for other in known if words and f"{other} ".startswith(f"{text} ")]
    close = difflib.get_close_matches(text[:60], known, n=4, cutoff=0.5)
    return tuple(dict.fromkeys(known[other] for other in (*begun, *close)))[:4]


@cache
def _by_words() -> dict[tuple[str, ...], NamedThreading]:
    return {_words(key): entry for key, entry in named_threadings().items()}


def _words(name: str) -> tuple[str, ...]:
    """Return what matters of a name: its words in lower case, without apostrophes."""
    plain = name.lower().replace("'", "").replace("\u2019", "").replace("&", " and ")
    return tuple(re.findall(r"[a-z]+|[0-9]+", plain))


def _straight_and_point() -> Iterator[NamedThreading]:
    """Yield the straight and point draws on as many shafts as floor looms commonly have."""
    for shafts in (3, 4, 5, 6, 8, 10, 12, 16):
        up, down = tuple(range(1, shafts + 1)), tuple(range(shafts - 1, 1, -1))
        source = {4: _TWILLS, 8: _TRANSPOSED}.get(shafts, _MEMORY)
        yield NamedThreading(f"straight {shafts}", "straight draw", up, source)
        source = _TWILLS if shafts == 4 else _MEMORY  # noqa: PLR2004
        yield NamedThreading(f"point {shafts}", "point draw", up + down, source, _BALANCE)


def _advancing() -> Iterator[NamedThreading]:
    """Yield advancing points of the straight draw on eight shafts, in runs of five and four."""
    for length, source in (
        (5, "by the rule of weavingspace.co.uk, Winter forest, there for treadling"),
        (4, _MEMORY),
    ):
        ends = tuple((start + step) % 8 + 1 for start in range(8) for step in range(length))
        key = f"advancing 8 by {length}"
        yield NamedThreading(key, "advancing twill", ends, source, f"Runs of {length} ends")
