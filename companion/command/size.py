"""How much one callout gives: what it takes in hand, and what it tells of each end."""

from typing import Final, Literal, NamedTuple, get_args

Detail = Literal["all", "short", "shafts"]
"""What is told of each end: its number, shaft and dent; shaft and dent; or the shaft alone."""
DETAILS: Final[tuple[Detail, ...]] = get_args(Detail)
MOST_ENDS: Final = 24
"""The most ends told in one callout, but for a whole unit, dent or group."""


class StepSize(NamedTuple):
    """What one callout takes in hand."""

    by: Literal["ends", "unit", "dent", "group"] = "ends"
    ends: int = 1
    """At most so many; used by ends alone."""

    def __str__(self) -> str:
        return str(self.ends) if self.by == "ends" else self.by


ONE_END: Final = StepSize()
"""What one callout gives unless the weaver wishes otherwise."""


def read_size(text: str) -> StepSize:
    """Return the size written as "1" to "24", "unit", "dent" or "group", or raise ValueError."""
    plain = text.strip().casefold()
    if plain in ("unit", "dent", "group"):
        return StepSize(plain)  # type: ignore[arg-type] # just tested
    if plain.isascii() and plain.isdigit() and 1 <= int(plain) <= MOST_ENDS:
        return StepSize("ends", int(plain))
    raise ValueError(f'expected 1 to {MOST_ENDS} ends, unit, dent or group, not "{text}"')
