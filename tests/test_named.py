"""Named threadings against what published pages print or say of them."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest

from companion.plan.threading.named import find_named, named_threadings, nearest_names

Shafts = tuple[int, ...]


def of(name: str) -> Shafts:
    """Return the shafts of a name that must be known."""
    threading = find_named(name)
    assert threading is not None, name
    return threading.shafts


def is_alternating(shafts: Shafts) -> bool:
    """Return whether neighbours are odd and even all round the repeat."""
    return all((first + second) % 2 for first, second in pairwise((*shafts, shafts[0])))


@pytest.mark.parametrize(
    ("name", "digits"),
    [
        # weavingspace.co.uk, "Twills on 4 shafts": the basic unit of the point draw, six ends.
        ("point 4", (1, 2, 3, 4, 3, 2)),
        # The same page: the point wrapped round from shaft 4 to shaft 1, eight ends.
        ("rosepath 4 a", (1, 2, 3, 4, 1, 4, 3, 2)),
        # handwovenmagazine.com, "Rosepath border motif design", without the balancing last end.
        ("rosepath 8", (1, 2, 3, 4, 5, 6, 7, 8, 1, 8, 7, 6, 5, 4, 3, 2)),
        # gistyarn.com, "How to weave lace", part three.
        ("huck a", (1, 3, 1, 3, 1)),
        ("huck b", (2, 4, 2, 4, 2)),
        # Carrie May, "Loom Controlled Lace Weaves".
        ("huck other a", (1, 2, 1, 2, 1)),
        # weeverwoman.blogspot.com, July 2013.
        ("ms-and-os a", (1, 2, 1, 2, 3, 4, 3, 4)),
        ("ms-and-os b", (1, 3, 1, 3, 2, 4, 2, 4)),
        # Marian Powell (1976), as weave-away.blogspot.com, September 2011, gives it.
        ("shadow-weave 4 b", (1, 2, 3, 4, 2, 1, 4, 3)),
        # dixieweaver.com, broken twill on four shafts.
        ("herringbone 4", (1, 2, 3, 4, 1, 2, 3, 4, 2, 1, 4, 3, 2, 1, 4, 3)),
        # From memory.
        ("krokbragd 3", (1, 2, 3, 2)),
        ("summer-and-winter a", (1, 3, 2, 3)),
        ("bronson-lace b", (1, 4, 1, 4, 1, 2)),
    ],
)
def test_digits_are_those_of_the_source(name: str, digits: Shafts) -> None:
    """The sequence is the identity of a threading."""
    assert of(name) == digits


@pytest.mark.parametrize("shafts", [3, 4, 5, 6, 8, 10, 12, 16])
def test_a_point_goes_up_and_comes_back_without_its_ends_twice(shafts: int) -> None:
    """weavingspace.co.uk, "Twills on 4 shafts": a straight run, then the way back."""
    point = of(f"point {shafts}")
    assert point[:shafts] == of(f"straight {shafts}") == tuple(range(1, shafts + 1))
    assert (*point[shafts - 1 :], 1) == tuple(range(shafts, 0, -1))


@pytest.mark.parametrize("shafts", ["4 a", "8"])
def test_rosepath_is_a_point_that_goes_one_end_past_the_last_shaft(shafts: str) -> None:
    """handwovenmagazine.com, "Rosepath border motif design": its rule, checked on both."""
    rosepath = of(f"rosepath {shafts}")
    last = max(rosepath)
    assert rosepath[: last + 1] == (*range(1, last + 1), 1)
    assert rosepath[last + 1 :] == tuple(range(last, 1, -1))


def test_the_rosepath_of_ten_ends_has_ten() -> None:
    """weavingspace.co.uk, "Twills on 4 shafts", calls the extension to ten ends rosepath."""
    assert len(of("rosepath 4 b")) == 10
    assert is_alternating(of("rosepath 4 b"))


def test_the_herringbone_breaks_odd_and_even_after_every_eight_ends_only() -> None:
    """weavingspace.co.uk, "Twills on 4 shafts": the rule of the vertical herringbone."""
    shafts = of("herringbone 4")
    breaks = [
        place
        for place, (one, other) in enumerate(pairwise((*shafts, shafts[0])), 1)
        if (one + other) % 2 == 0
    ]
    assert breaks == [8, 16]


@pytest.mark.parametrize("block", "abcd")
def test_a_crackle_block_has_four_ends_on_three_shafts(block: str) -> None:
    """weeverwoman.blogspot.com, 17 January 2012: three shafts, four threads to a group."""
    assert (len(of(f"crackle {block}")), len(set(of(f"crackle {block}")))) == (4, 3)


def test_crackle_blocks_in_order_alternate_odd_and_even_by_their_added_ends() -> None:
    """leighsfiberjournal.blogspot.com, 24 October 2023: the block's first shaft is repeated."""
    whole = of("crackle abcd")
    parts = [whole[at : at + 5] for at in range(0, 20, 5)]
    assert parts == [(*of(f"crackle {block}"), of(f"crackle {block}")[0]) for block in "abcd"]
    assert is_alternating(whole)


@pytest.mark.parametrize(
    "name",
    ["straight 8", "point 8", "rosepath 8", "goose-eye 4", "advancing 8 by 5", "transposed 8"],
)
def test_plain_weave_is_on_odd_against_even_shafts(name: str) -> None:
    """weavingspace.co.uk, "Twills on 4 shafts": most keep an odd and even rhythm."""
    assert is_alternating(of(name))


@pytest.mark.parametrize(
    ("name", "heddles"),
    [
        # Counted by hand from the sequences above.
        ("point 4", [1, 2, 2, 1]),
        ("rosepath 4 a", [2, 2, 2, 2]),
        ("rosepath 4 b", [3, 3, 2, 2]),
        ("goose-eye 4", [3, 4, 4, 3]),
        ("herringbone 4", [4, 4, 4, 4]),
        ("crackle abcd", [5, 5, 5, 5]),
        ("bronson-lace a", [3, 1, 2]),
        ("advancing 8 by 5", [5] * 8),
        ("advancing 8 by 4", [4] * 8),
    ],
)
def test_heddles_of_one_repeat(name: str, heddles: list[int]) -> None:
    """A digit too many or too few on a shaft would show here."""
    counts = Counter(of(name))
    assert [counts[shaft] for shaft in range(1, max(counts) + 1)] == heddles


def test_every_entry_says_where_its_digits_come_from() -> None:
    """An entry has its own key, a name for the ear, shafts from 1 and a source."""
    for key, entry in named_threadings().items():
        assert key == entry.key
        assert entry.label
        assert entry.source
        assert min(entry.shafts) >= 1


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("Point4", "point 4"),
        ("goose eye 4", "goose-eye 4"),
        ("Goose_Eye-4", "goose-eye 4"),
        ("M's & O's A", "ms-and-os a"),
        ("monk\u2019s belt b", "monks-belt b"),
        ("SUMMER AND WINTER F", "summer-and-winter f"),
    ],
)
def test_a_name_is_known_however_its_words_are_joined(written: str, key: str) -> None:
    """Case, hyphens, apostrophes and spaces do not matter."""
    found = find_named(written)
    assert found is not None
    assert found.key == key


@pytest.mark.parametrize(
    ("written", "nearest"),
    [
        ("rosepath", "rosepath 4 a"),
        ("straight", "straight 3"),
        ("rosepth 8", "rosepath 8"),
        ("hering bone 4", "herringbone 4"),
    ],
)
def test_an_unknown_name_brings_the_nearest_known_ones(written: str, nearest: str) -> None:
    """A name without its shafts, or misspelt, is answered with what it may mean."""
    assert find_named(written) is None
    assert nearest in nearest_names(written)


@pytest.mark.parametrize("written", ["", "honeysuckle", "\u7e54", "x" * 10_000])
def test_a_name_like_no_other_brings_no_guess(written: str) -> None:
    """What was not checked is not offered."""
    assert find_named(written) is None
    assert nearest_names(written) == ()
