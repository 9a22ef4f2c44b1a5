"""What one value of a plan file may be, with the words that messages have for it."""

import re
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from companion.base.text import LONGEST_LABEL, is_label, listed
from companion.yarn.counts import CM_PER_INCH
from companion.yarn.length import MOST_SHARE, read_share

MAX_ENDS = 1_000_000
"""The widest warp a plan may ask for; a guard against slips of the finger, not a craft limit."""


MAX_SHAFTS = 64
"""The most shafts or treadles a plan may name; far more than hand looms have."""

MOST_TOGETHER = 12
"""The most ends wound at once; a guard against slips of the finger."""

_EXACT = re.compile(
    r"(?:(?P<whole>[0-9]+) +)?(?P<over>[0-9]+)/(?P<under>0*[1-9][0-9]*)|[0-9]+(?:\.[0-9]+)?"
)
_LONGEST_EXACT = 30
"""Characters; anything longer is a slip."""


def exact(value: Any) -> Fraction:
    """Return a number written as 20, 16.5, "16 1/2" or "33/2" as an exact fraction."""
    if isinstance(value, Fraction):
        return value
    text = ""
    # Huge integers are left out here because Python refuses to write them as text.
    if isinstance(value, (str, Decimal)) or (type(value) is int and abs(value) <= MAX_ENDS):
        text = str(value).strip()
    match = _EXACT.fullmatch(text) if len(text) <= _LONGEST_EXACT else None
    if match is None:
        raise ValueError('expected a number such as 20, 16.5 or "16 1/2"')
    if match["over"] is None:
        return Fraction(text)
    return int(match["whole"] or 0) + Fraction(int(match["over"]), int(match["under"]))


def share(value: Any) -> Fraction:
    """Return a share written with its per cent sign, "10 %", as an exact fraction."""
    if isinstance(value, Fraction):
        return value
    if not isinstance(value, str):
        raise ValueError('expected a share as text with its per cent sign, such as "10 %"')  # noqa: TRY004 - pydantic takes a ValueError
    return read_share(value)


def said(expected: str, *examples: object, **more: Any) -> Any:
    """Return what messages say a field holds, to follow "expected", and how its value is written.

    A table's example is a whole sentence; that of any other field its value alone. `more` may give
    a default.
    """
    return Field(description=expected, examples=list(examples) or None, **more)


def per_inch(by_inch: Fraction | None, by_metric: Fraction | None, cm: int = 1) -> Fraction:
    """Return by the inch what a plan gives by the inch, or else by so many centimetres."""
    return by_inch if by_inch is not None else (by_metric or Fraction(0)) * CM_PER_INCH / cm


Gauge = Annotated[
    Fraction, BeforeValidator(exact), Field(gt=0, le=MAX_ENDS), said("a number above 0")
]
Exact = Annotated[Gauge, said("a number above 0, in the plan's units")]
"""A length."""
ExactOrNone = Annotated[
    Fraction,
    BeforeValidator(exact),
    Field(ge=0, le=MAX_ENDS),
    said("a number of 0 or more, in the plan's units"),
]
"""A length that may be 0, which is none of it."""
Share = Annotated[
    Fraction,
    BeforeValidator(share),
    Field(ge=0, le=MOST_SHARE),
    said('a share from "0 %" to "90 %", as text with its per cent sign', "10 %"),
]
"""A share written with its per cent sign, "10 %"."""
Count = Annotated[int, Field(ge=1, le=MAX_ENDS, strict=True)]
Side = Literal["right", "left"]

MOST_TITLE = 120
"""Characters of a plan's title."""


def _label(most: int) -> AfterValidator:
    """Return a check for a name of at most so many characters, without blanks around it."""

    def check(text: str) -> str:
        if not is_label(text, most):
            raise ValueError(f"expected a name of 1 to {most} characters on one line")
        return text.strip()

    return AfterValidator(check)


Title = Annotated[
    str,
    _label(MOST_TITLE),
    said(f"a title of 1 to {MOST_TITLE} characters on one line", "Kitchen towels"),
]
Label = Annotated[
    str,
    _label(LONGEST_LABEL),
    said(f"a name of 1 to {LONGEST_LABEL} characters on one line", "white"),
]
"""A name that is spoken and printed."""
Shafts = Annotated[
    str, said('shafts in order, as text such as "1-2-3-4" or "1 to 4, 3 to 2"', "1 to 4, 3 to 2")
]
Treadles = Annotated[
    str, said('treadles in order, as text such as "1-2-3-4" or "1+3, 2+4"', "1 to 4")
]


class PlanTable(BaseModel):
    """A table of the plan file: unknown keys are mistakes and nothing changes after reading."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, defer_build=True
    )


def never(fault: str, holds: Callable[[Any], object]) -> Any:
    """Return a table's check that something does not hold, with what was expected instead."""

    def check(table: PlanTable) -> PlanTable:
        if holds(table):
            raise ValueError(fault)
        return table

    return model_validator(mode="after")(check)


def once(what: str, *keys: str) -> Any:
    """Return a table's check that exactly one of the keys, each a unit of its own, is given."""
    return never(
        f"expected the {what} once, as {' or '.join(keys)}",
        lambda table: sum(getattr(table, key) is not None for key in keys) != 1,
    )


def one_of(*keys: str) -> Any:
    """Return a table's check that exactly one of the keys holds something."""

    def check(table: PlanTable) -> PlanTable:
        given = [key for key in keys if getattr(table, key)]
        if len(given) != 1:
            came = " and ".join(given) or "none of them"
            raise ValueError(f"expected exactly one of {listed(keys, 'or')}; found {came}")
        return table

    return model_validator(mode="after")(check)
