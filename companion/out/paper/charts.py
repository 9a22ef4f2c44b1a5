"""The charts of a plan: its reed, its warp in winding order, its heddles and its groups."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate

from companion.base.runs import run_lengths
from companion.base.text import counted
from companion.job import Stage
from companion.loom.dressing import Dressing, ShaftHeddles
from companion.out.paper.chart import Band, Chart, Segment
from companion.out.picture.swatches import Swatch, swatches

GROUPS_A_ROW = 8
MOST_GROUPS = 96
"""With more groups than this the strip would be too long to keep in view."""


def reed_chart(dressing: Dressing) -> Chart:
    """Return the whole reed as it lies before the weaver, the warp's colours in it."""
    sley = dressing.sley
    dents = (*[None] * sley.empty_before, *_colours_of_dents(dressing), *[None] * sley.empty_after)
    parts = run_lengths(dents)
    found = swatches(end.colour for end in dressing.ends)
    edge = dressing.first_end
    words = ", ".join(_part(size, colour) for colour, size in parts)
    last = sley.first_dent + len(sley.counts) - 1
    told = dict.fromkeys((1, sley.reed_dents, sley.first_dent, last))
    marks = [(dent - 1.0, str(dent)) for dent in told]
    return Chart(
        "The reed",
        f"The reed from its {edge} end, seen from the front of the loom: {words}. "
        f"{_key(found)}".rstrip(),
        sley.reed_dents,
        (_band(parts, found, marks, sley.reed_dents, edge),),
    )


def warp_chart(dressing: Dressing) -> Chart | None:
    """Return the warp's colours in winding order; None where it has but one."""
    parts = run_lengths(end.colour for end in dressing.ends)
    if len(parts) == 1:
        return None
    found = swatches(end.colour for end in dressing.ends)
    ends = len(dressing.ends)
    edges = accumulate(size for _, size in parts[:-1])
    marks = [(0.5, "1"), (ends - 0.5, str(ends)), *((at - 0.5, str(at)) for at in edges)]
    edge = dressing.first_end
    return Chart(
        "The warp",
        f"The strip shows the warp as it lies on the loom, end 1 at the {edge}; the numbers are "
        f"the last ends of stripes. {_key(found)}",
        ends,
        (_band(parts, found, marks, ends, edge),),
        is_told=False,
    )


def heddle_chart(dressing: Dressing) -> Chart:
    """Return a bar for each shaft, the front shaft lowest, divided at the centre of the warp."""
    is_right = dressing.first_end == "right"
    halves = [_halves(row, is_right=is_right) for row in dressing.heddles]
    most_left = max(left for left, _ in halves)
    most = max(1, most_left + max(right for _, right in halves))
    bands = [
        Band(tuple(_bar(left, right, most_left)), str(row.shaft))
        for row, (left, right) in zip(dressing.heddles, halves, strict=True)
    ]
    if dressing.shaft_one == "front":
        bands.reverse()
    return Chart(
        "The heddles",
        "Each bar is a shaft with its heddles left and right of the centre, seen from the front; "
        "the front shaft is the lowest.",
        most,
        tuple(bands),
        is_told=False,
    )


def progress_chart(walked: Stage) -> Chart | None:
    """Return a box for each group; None where there are more than a strip can hold."""
    groups = walked.groups
    if not 1 < len(groups) <= MOST_GROUPS:
        return None
    rows = [groups[at : at + GROUPS_A_ROW] for at in range(0, len(groups), GROUPS_A_ROW)]
    bands = [
        Band(
            tuple(Segment(1, str(group.number)) for group in row),
            marks=tuple(
                (place + 0.5, str(walked.steps_of(group)[-1].last_end or ""))
                for place, group in enumerate(row)
            ),
        )
        for row in rows
    ]
    return Chart(
        "Progress",
        "Fill in the box of each group you have counted; the number below is its last end.",
        GROUPS_A_ROW,
        tuple(bands),
        is_told=False,
    )


def _colours_of_dents(dressing: Dressing) -> list[str | None]:
    """Return the colour of each dent used, of its first end; None for one left empty."""
    sley = dressing.sley
    first, last = dressing.ends[0].colour, dressing.ends[-1].colour
    by_dent: dict[int, str] = {}
    for end in dressing.ends:
        by_dent.setdefault(end.dent, end.colour)
    edge = dict.fromkeys(range(1, sley.floating + 1), first)
    edge |= {len(sley.counts) - place: last for place in range(sley.floating)}
    return [
        (by_dent | edge).get(dent) if count else None
        for dent, count in enumerate(sley.counts, start=1)
    ]


def _part(size: int, colour: str | None) -> str:
    if colour is None:
        return f"{counted(size, 'dent')} empty"
    return f"{counted(size, 'dent')} {colour or 'with ends'}"


def _key(found: Mapping[str, Swatch]) -> str:
    named = [each for each in found.values() if each.name]
    if not named:
        return ""
    return f"In the strip {', '.join(f'{each.letter} is {each.name}' for each in named)}."


def _band(
    parts: Sequence[tuple[str | None, int]],
    found: Mapping[str, Swatch],
    marks: Sequence[tuple[float, str]],
    size: int,
    edge: str,
) -> Band:
    """Return a band of yarn; where end 1 is at the right, all of it is turned about."""
    segments = [_segment(number, colour, found) for colour, number in parts]
    if edge == "right":
        segments.reverse()
        marks = [(size - at, text) for at, text in marks]
    return Band(tuple(segments), marks=tuple(marks))


def _segment(size: int, colour: str | None, found: Mapping[str, Swatch]) -> Segment:
    if colour is None:
        return Segment(size, str(size))
    swatch = found[colour]
    return Segment(size, swatch.letter if colour else str(size), swatch if colour else None)


def _halves(row: ShaftHeddles, *, is_right: bool) -> tuple[int, int]:
    """Return the heddles left and right of the centre, seen from the front."""
    near, far = row.before_centre, row.after_centre
    return (far, near) if is_right else (near, far)


def _bar(left: int, right: int, most_left: int) -> Iterator[Segment]:
    if left < most_left:
        yield Segment(most_left - left, is_gap=True)
    if left:
        yield Segment(left, str(left))
    if right:
        yield Segment(right, str(right))
