"""Ends spread over dents or raddle sections as evenly as whole ends allow."""

from collections.abc import Iterable
from fractions import Fraction
from itertools import islice, pairwise

from companion.plan.threading.notation import read_numbers
from companion.plan.values import MAX_ENDS


def written_pattern(text: str) -> tuple[int, ...]:
    """Return the ends in successive dents from an order such as "1-2-2" that a plan holds.

    A leading empty dent moves to the end, since the reed is empty before the warp anyway.
    """
    counts = read_numbers(text, least=0)
    lead = next(index for index, count in enumerate(counts) if count)
    return counts[lead:] + counts[:lead]


def spaces_needed(ends: int, per_space: Fraction, *, to_nearest: bool = False) -> int:
    """Return how many dents or sections `even_pattern` fills with `ends`."""
    number, spaces = per_space.as_integer_ratio()
    return -((_lead(number, spaces, to_nearest=to_nearest) - ends * spaces) // number)


def even_pattern(
    per_space: Fraction, ends: int = MAX_ENDS, *, to_nearest: bool = False
) -> tuple[int, ...]:
    """Return ends in successive spaces, N ends over D spaces for `per_space` = N/D above 0.

    Any two stretches of equally many spaces differ by one end at most, and the first space
    is never empty, so that an order such as 0-1 reads 1-0. Patterns are cut off where they hold
    `ends`. `to_nearest` gives the ends nearest to the share of all spaces so far, in place of
    those it is sure to hold.
    """
    number, spaces = per_space.as_integer_ratio()
    lead = _lead(number, spaces, to_nearest=to_nearest)
    kept = min(spaces, spaces_needed(ends, per_space, to_nearest=to_nearest))
    marks = [(number * space + lead) // spaces for space in range(kept + 1)]
    return tuple(after - before for before, after in pairwise(marks))


def _lead(number: int, spaces: int, *, to_nearest: bool) -> int:
    """Return the head start (in parts of an end) that puts an end into the first space."""
    return max(spaces // 2 if to_nearest else 0, spaces - number)


def lay(pattern: tuple[int, ...], ends: int) -> tuple[int, ...]:
    """Return the ends, 1 or more, in every space used when `pattern` is taken over and over.

    It starts with an end; the last space holds what is left over, and is never empty.
    """
    passes, rest = divmod(ends, sum(pattern))
    counts = list(pattern) * passes
    for count in islice(pattern, len(pattern) if rest else 0):
        counts.append(min(count, rest))
        rest -= counts[-1]
    while counts[-1] == 0:
        counts.pop()
    return tuple(counts)


def centred(spaces: int, used: int) -> tuple[int, int]:
    """Return the empty spaces before and after those used; an odd one goes after."""
    before = (spaces - used) // 2
    return before, spaces - used - before


def space_of_each(counts: Iterable[int], first: int = 1) -> list[int]:
    """Return for every end, in order, the number of the space that holds it."""
    return [space for space, count in enumerate(counts, start=first) for _ in range(count)]
