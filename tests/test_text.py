"""Plurals, lists and fractions: spelling as any English grammar has it, figures by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from companion.base.text import (
    counted,
    decimal,
    listed,
    mixed,
    numbered,
    plural,
    ruler,
    sentence,
    span,
)


@pytest.mark.parametrize(
    ("one", "many"),
    [
        ("end", "ends"),
        ("inch", "inches"),
        ("entry", "entries"),
        ("day", "days"),
        ("pass", "passes"),
        ("pair of ends", "pairs of ends"),
        ("floating selvedge", "floating selvedges"),
    ],
)
def test_a_plural_follows_the_noun(one: str, many: str) -> None:
    assert plural(one) == many


@pytest.mark.parametrize(
    ("number", "written"), [(0, "0 inches"), (1, "1 inch"), (2, "2 inches"), (1200, "1200 inches")]
)
def test_a_number_takes_its_noun(number: int, written: str) -> None:
    assert counted(number, "inch") == written


def test_lists_join_their_last_two() -> None:
    assert [listed(range(1, upto)) for upto in range(1, 5)] == ["", "1", "1 and 2", "1, 2 and 3"]
    assert listed(["a", "b"], "or") == "a or b"
    assert listed(range(1, 9), most=3) == "1, 2, 3 and more"
    assert listed(range(1, 4), most=3) == "1, 2 and 3"


def test_numbered_things_are_named_once() -> None:
    assert numbered("shaft", (3,)) == "shaft 3"
    assert numbered("shaft", (1, 2, 4)) == "shafts 1, 2 and 4"
    assert numbered("shaft", ()) == "no shaft"


def test_a_span_says_and_for_two() -> None:
    assert span("end", 1, 1) == "end 1"
    assert span("end", 1, 2) == "ends 1 and 2"
    assert span("inch", 1, 4) == "inches 1 to 4"


def test_a_sentence_begins_and_ends_as_one() -> None:
    assert sentence("leave 2 dents empty") == "Leave 2 dents empty."
    assert sentence("Ready?") == "Ready?"


@pytest.mark.parametrize(
    ("value", "as_decimal", "as_mixed", "on_ruler"),
    [
        (Fraction(5), "5", "5", "5"),
        (Fraction(0), "0", "0", "0"),
        (Fraction(33, 2), "16.5", "16 1/2", "16 1/2"),
        (Fraction(1, 16), "about 0.06", "1/16", "1/16"),
        (Fraction(50, 3), "about 16.67", "16 2/3", "about 16.67"),
        (Fraction(61, 5), "12.2", "12 1/5", "12.2"),
    ],
)
def test_fractions(value: Fraction, as_decimal: str, as_mixed: str, on_ruler: str) -> None:
    assert (decimal(value), mixed(value), ruler(value)) == (as_decimal, as_mixed, on_ruler)
