"""Tying up the treadles: which shafts each takes, and which way they go."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.job.sides import shaft_one
from companion.job.step_builder import Told, ToldGroup, numbered
from companion.job.steps import Stage
from companion.loom.tie_up import tie_up

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.loom.dressing import Dressing
    from companion.loom.tie_up import Ties, TieUpPlan

_KINDS: Final = {
    "jack": "On a jack loom a tie raises its shaft.",
    "counterbalance": "On a counterbalance loom a tie lowers its shaft.",
    # Upper lamms sink and lower ones raise: leighsfiberjournal.blogspot.com, May 2024.
    "countermarch": (
        "On a countermarch loom every shaft is tied to every treadle: those told as up to the "
        "lower, longer lamms, those told as down to the upper, shorter ones."
    ),
}


def tie_up_stage(dressing: Dressing) -> Stage:
    """Return a step for every treadle, each counted by itself."""
    if not dressing.draft.treadles:
        raise ValueError("expected a plan with a tie-up")
    plan = tie_up(dressing.draft, dressing.loom_kind)
    is_both = dressing.loom_kind == "countermarch"
    steps, groups = numbered(
        _group(number, ties, is_both=is_both) for number, ties in enumerate(plan.treadles, start=1)
    )
    return Stage(
        name="tie-up",
        title="tying up the treadles",
        counted="ties",
        steps=steps,
        groups=groups,
        unit_names=(),
        start=" ".join(_start(dressing, plan)),
        dressing=dressing,
        item="treadle",
        asked="ties has this treadle",
        caution=(
            "Secure the shafts before you reach beneath them, kneel on something soft, and come "
            "up every few treadles to stretch."
        ),
    )


def _group(number: int, ties: Ties, *, is_both: bool) -> ToldGroup:
    return ToldGroup(
        "",
        [Told(f"treadle {number}: {_shafts(ties, is_both=is_both)}", ties.number)],
        too_few="a tie left out",
        too_many="a shaft tied that should hang free",
    )


def _shafts(ties: Ties, *, is_both: bool) -> str:
    if not ties.number:
        return "leave it without ties"
    if not is_both:
        return _named(ties.up or ties.down)
    up = f"{_named(ties.up)} up" if ties.up else ""
    down = f"{_named(ties.down)} down" if ties.down else ""
    return "; ".join(part for part in (up, down) if part)


def _named(shafts: tuple[int, ...]) -> str:
    if len(shafts) == 1:
        return f"shaft {shafts[0]}"
    return f"shafts {', '.join(map(str, shafts[:-1]))} and {shafts[-1]}"


def _start(dressing: Dressing, plan: TieUpPlan) -> Iterator[str]:
    moves = "rise" if dressing.draft.is_rising_shed else "sink"
    yield f"The plan's tie-up marks the shafts that {moves}."
    if dressing.loom_kind is not None:
        yield _KINDS[dressing.loom_kind]
    if not plan.is_as_marked:
        yield "So the shafts told are not those marked, but the others."
    if plan.is_unsettled:
        yield (
            "Some picks press treadles together, so only the marked shafts are told: whether the "
            "others are tied as well depends on what is pressed with them."
        )
    yield "Begin with treadle 1 at the side you are used to; the plan does not say."
    yield shaft_one(dressing)
