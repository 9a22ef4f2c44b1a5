"""Yarn counts against the factors of the standards, printed tables and worked examples."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.base.errors import CompanionError
from companion.yarn.counts import SYSTEMS, YARDS_PER_POUND, Size, YarnError, find_system, read_size

systems = st.sampled_from(SYSTEMS)
decimals = st.builds(Fraction, st.integers(1, 10**6), st.just(1000))


def number(text: str, system: str) -> Fraction:
    """Return the number of a written size in another system."""
    return read_size(text).number_in(find_system(system))


@pytest.mark.parametrize(
    ("known", "needed", "factor"),
    [
        # ASTM D2260-03 (2013), Table 1, the whole products that stored pages of it show.
        ("worsted", "yd/lb", 560),
        ("cotton", "yd/lb", 840),
        ("woollen run", "yd/lb", 1600),
        ("linen", "yd/lb", 300),
        ("woollen cut", "yd/lb", 300),
        ("metric", "yd/lb", 496.055),
        ("cotton", "worsted", 1.5),
        ("cotton", "woollen run", 0.525),
        ("worsted", "woollen run", 0.35),
        ("cotton", "linen", 2.8),
        ("worsted", "linen", 1.86667),
        ("linen", "woollen run", 0.1875),
        ("metric", "cotton", 0.590541),
        ("metric", "worsted", 0.885812),
        ("metric", "woollen run", 0.310034),
        ("metric", "linen", 1.65352),
        ("tex", "denier", 9),
    ],
)
def test_factors_are_those_of_the_standard(known: str, needed: str, factor: float) -> None:
    """Table 1 of ASTM D2260, in agreement with ISO 2947, to all the digits it prints."""
    assert f"{float(number(f'1 {known}', needed)):.6g}" == f"{factor:.6g}"


@pytest.mark.parametrize(
    ("system", "constant"),
    [
        # The numerators of the same table's tex column, which are the metric factors x 1000
        # (tex = 1000 / Nm, ISO 1144); the first is printed in its second example.
        ("cotton", 590.541),
        ("worsted", 885.812),
        ("linen", 1653.52),
        ("woollen run", 310.034),
        ("metric", 1000),
        ("yd/lb", 496_055),
    ],
)
def test_tex_is_a_constant_over_the_count(system: str, constant: float) -> None:
    """tex = constant / count, for a count of 1 and, in proportion, of 32."""
    assert f"{float(number(f'1 {system}', 'tex')):.6g}" == f"{constant:.6g}"
    assert number(f"32 {system}", "tex") * 32 == number(f"1 {system}", "tex")


def test_the_examples_of_the_standard() -> None:
    """ASTM D2260: cotton 10 is worsted 15, and 30 tex is cotton 590.54 / 30 = 19.7."""
    assert number("10 cotton", "worsted") == 15
    assert round(float(number("30 tex", "cotton")), 1) == 19.7


@pytest.mark.parametrize(
    ("text", "yards"),
    [
        # B. Elkins, "What Do the Numbers Mean in Coned Yarns?", blog.yarn.com, 5 June 2012.
        ("3/2 cotton", 1260),
        ("20/2 linen", 3000),
        ("2/10 worsted", 2800),
        # M. Petrini, "Yarn Systems", October 2020.
        ("20/2 cotton", 8400),
        ("2/20 worsted", 5600),
        # Thrums, the newsletter of the Central Ohio Weavers Guild, as quoted on
        # knitting-tips.blogspot.com, February 2008.
        ("5/3 cotton", 1400),
        ("6 cut", 1800),
        ("2/8 worsted", 2240),
        ("4/1 linen", 1200),
        # faena.medievaltextiles.org/ash.html, 1999.
        ("8/2 cotton", 3360),
    ],
)
def test_yards_in_a_pound_are_those_of_printed_examples(text: str, yards: int) -> None:
    """Counts, plies and their order, as weavers' own pages work them out."""
    assert read_size(text).yards_per_pound == yards


@pytest.mark.parametrize(
    ("text", "tex", "metric"),
    [
        # Computed by hand from 590.541 and 885.812 and 1653.52 over the count of the whole yarn.
        ("5/2 cotton", 236.22, 4.233),
        ("10/2 cotton", 118.11, 8.467),
        ("16/2 cotton", 73.82, 13.547),
        ("2/20 worsted", 88.58, 11.289),
        ("40/2 linen", 82.68, 12.095),
        ("8/1 linen", 206.69, 4.838),
    ],
)
def test_plied_yarns_in_tex_and_metric(text: str, tex: float, metric: float) -> None:
    """The whole yarn is numbered as one thread."""
    assert round(float(number(text, "tex")), 2) == tex
    assert round(float(number(text, "metric")), 3) == metric


def test_the_textbook_equivalents_of_twenties_cotton() -> None:
    """C. P. Brooks, Cotton Manufacturing: 20's cotton is 30's worsted, 56's linen, 16.93 French.

    The French count is kilometres in half a kilogram, so half the metric one.
    """
    assert number("20s cotton", "worsted") == 30
    assert number("20s cotton", "linen") == 56
    assert round(float(number("20s cotton", "metric") / 2), 2) == 16.93
    assert round(number("1 cotton", "denier")) == 5315  # textilecalculations.com, yarn count page


@given(st.builds(Size, decimals, st.integers(1, 12), systems), systems)
def test_conversion_is_undone_exactly_by_the_way_back(size: Size, other: object) -> None:
    """No digit is lost through any system."""
    assert isinstance(other, type(size.system))
    there = Size(size.number_in(other), 1, other)
    assert there.metres_per_kilogram == size.metres_per_kilogram
    back = there.number_in(size.system)
    whole = size.count * size.plies if size.system.is_direct else size.count / size.plies
    assert back == whole


@given(decimals, st.integers(1, 12), systems)
def test_a_size_is_read_as_it_is_written(count: Fraction, plies: int, system: object) -> None:
    """What is printed can be typed again, in every system and its own order of plies."""
    assert isinstance(system, type(SYSTEMS[0]))
    if not system.plied or (not system.is_direct and plies > count):
        plies = 1
    size = Size(count, plies, system)
    assert read_size(str(size)) == size


@given(decimals, decimals, systems)
def test_finer_yarn_has_more_length(one: Fraction, other: Fraction, system: object) -> None:
    """Higher indirect counts are finer and higher direct numbers thicker."""
    assert isinstance(system, type(SYSTEMS[0]))
    low, high = sorted((one, other))
    fine, thick = (low, high) if system.is_direct else (high, low)
    lengths = [Size(count, 1, system).metres_per_kilogram for count in (fine, thick)]
    assert lengths[0] >= lengths[1]
    assert (lengths[0] == lengths[1]) == (low == high)


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("Nm 28/2", "28/2 metric"),
        ("Ne 8/2", "8/2 cotton"),
        ("  2/20s   Worsted ", "2/20 worsted"),
        ("30x2 tex", "60 tex"),
        ("30 \u00d7 2 tex", "60 tex"),
        ("16/2 linen", "8 lea"),
        ("677 m/100 g", "6770 m/kg"),
        ("3360 yards per pound", "4 cotton"),
        ("8 woolen cut", "2400 yd/lb"),
        ("4/4 cotton", "1 cotton"),
    ],
)
def test_other_spellings_are_the_same_yarn(text: str, same: str) -> None:
    """The system may stand before or after, with the trade's symbols or in words."""
    assert read_size(text).metres_per_kilogram == read_size(same).metres_per_kilogram


@pytest.mark.parametrize(
    ("text", "fault", "mend"),
    [
        # Some labels put the plies first: "Those Pesky Numbers", schoolofsweetgeorgia.com, and
        # L. Fry on laurasloom.blogspot.com, both on 2/8 for 8/2. Read as it stands it would be
        # sixteen times too heavy.
        ("2/8 cotton", "8 plies of count 2", "8/2 cotton"),
        ("20/2 worsted", "20 plies of count 2", "2/20 worsted"),
        ("2/28 Nm", "28 plies of count 2", "28/2 metric"),
        ("20/2", "count system", "8/2 cotton"),
        ("20/2 silk", 'not "silk"', "metric"),
        ("8 / 2 wool", 'not "wool"', "worsted"),
        ("30/2 tex", "number x plies", "30 x 2 tex"),
        ("8x2 cotton", "count/plies", "8/2 cotton"),
        ("5/2 woollen run", "one number", "5 woollen run"),
        ("8/0 cotton", "plies", "8/2"),
        ("8/1.5 cotton", "plies", "8/2"),
        ("0 tex", "above 0", "30 tex"),
        ("9999999 yd/lb", "1,000,000", "3360 yd/lb"),
        ("7,5 tex", "size", "30 tex"),
        ("", "size", "8/2 cotton"),
        ("cotton", "size", "8/2 cotton"),
        ("-8/2 cotton", "size", "8/2 cotton"),
        ("8" * 99 + " tex", "size", "30 tex"),
    ],
)
def test_what_cannot_be_read_for_sure_is_refused(text: str, fault: str, mend: str) -> None:
    """One plain line: what was expected, what came, what to write."""
    with pytest.raises(YarnError) as caught:
        read_size(text)
    assert fault in caught.value.fault
    assert mend in caught.value.mend
    assert isinstance(caught.value, CompanionError)
    assert "\n" not in str(caught.value)


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No text brings anything else than a size or a line of advice."""
    try:
        size = read_size(text)
    except YarnError as error:
        said = str(error)
    else:
        said = str(size)
        assert size.metres_per_kilogram > 0
    assert said.isprintable()


def test_a_yard_in_a_pound_is_exact() -> None:
    """By the yard and the pound of 1959: 0.9144 m over 0.45359237 kg."""
    assert Fraction(9144, 10_000) / Fraction("0.45359237") == YARDS_PER_POUND
