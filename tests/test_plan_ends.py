"""How many ends a plan asks for, against published and exact figures."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from companion.plan.schema import PlanFile, Selvedges
from companion.plan.values import exact
from companion.yarn.counts import CM_PER_INCH


def plan_of(units: str = "inch", **warp: Any) -> PlanFile:
    """Return a plan with this warp."""
    return PlanFile.model_validate(
        {
            "title": "a plan",
            "units": units,
            "warp": warp,
            "reed": {"dents_per_inch": 10, "width": 40},
            "loom": {"shafts": 4},
        }
    )


@pytest.mark.parametrize(
    ("warp", "ends"),
    [
        # allfiberarts.com, "Calculating yarn": a width of 19.5 in at 20 ends per inch is 390 ends.
        ({"width": Decimal("19.5"), "ends_per_inch": 20}, 390),
        # Exact products.
        ({"width": 25, "ends_per_inch": 12}, 300),
        ({"width": "16 1/2", "ends_per_inch": 18}, 297),
        # A half rounds up, a little less does not.
        ({"width": "1/2", "ends_per_inch": 5}, 3),
        ({"width": "499/1000", "ends_per_inch": 5}, 2),
        ({"ends": 300, "ends_per_inch": 12}, 300),
        ({"ends_per_inch": 12}, None),
    ],
)
def test_ends_are_given_or_width_times_sett(warp: dict[str, Any], ends: int | None) -> None:
    """Width times sett is rounded to the nearest; neither means the threading decides."""
    assert plan_of(**warp).asked_ends == ends


def test_eight_ends_in_a_centimetre_are_twenty_point_three_two_in_an_inch() -> None:
    """The inch is 2.54 cm exactly (international yard and pound agreement, 1959)."""
    assert Fraction(254, 100) == CM_PER_INCH
    assert plan_of(ends_per_cm=8).warp.sett == Fraction("20.32")


@given(st.integers(1, 2000), st.fractions(Fraction(1, 4), 40, max_denominator=16))
def test_centimetres_count_as_many_ends_as_inches_would(width: int, sett: Fraction) -> None:
    """The same warp in either unit has the same ends."""
    metric = plan_of("metric", width=Fraction(width) * CM_PER_INCH, ends_per_inch=sett)
    assert metric.asked_ends == plan_of(width=width, ends_per_inch=sett).asked_ends


def test_doubled_edge_heddles_hold_two_ends_each() -> None:
    """Hall and Buck, Handicrafts for the Handicapped (1916): 8 doubled ends are 4 heddles."""
    assert Selvedges(doubled=2).ends_in(4) == 8


@pytest.mark.parametrize(
    ("written", "number"),
    [
        (20, Fraction(20)),
        (Decimal("16.5"), Fraction(33, 2)),
        ("16 1/2", Fraction(33, 2)),
        ("33/2", Fraction(33, 2)),
        (" 0.1 ", Fraction(1, 10)),
    ],
)
def test_a_number_is_read_exactly(written: Any, number: Fraction) -> None:
    """No binary fraction comes between the file and the sum."""
    assert exact(written) == number


@pytest.mark.parametrize(
    "written",
    [
        True,
        1.5,
        "1e3",
        "-3 4/1",
        "1/0",
        "1 1/00",
        "16 1/2 1/2",
        "\u0665",
        "",
        Decimal("1e99999999"),
        Decimal("NaN"),
        pytest.param(10**5000, id="5001 digits"),
        [],
    ],
)
def test_what_is_no_plain_number_is_refused(written: Any) -> None:
    """Exponents, signs, other digits and other kinds are slips, and quick to refuse."""
    with pytest.raises(ValueError, match="expected a number such as"):
        exact(written)


@pytest.mark.parametrize("label", ["", "  ", "a\nb", "\u2028x", "x" * 121, "\u200d", "a\u202eb"])
def test_a_title_is_one_line_with_something_to_say(label: str) -> None:
    """What is spoken and printed cannot break a line or be silent."""
    tables = plan_of(ends_per_inch=10).model_dump(exclude_none=True)
    with pytest.raises(ValidationError):
        PlanFile.model_validate({**tables, "title": label})
