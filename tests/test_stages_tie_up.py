"""Tying up: each kind of loom gets the ties that make it weave the draft."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from job_walker import job_plans, printed, told, walk
from paper_plans import sheet_of
from small_plans import make_plan, straight, untimed

from companion.guide import Options
from companion.job import LeftOut, Stage, left_out, stage, whole_job
from companion.loom.compute import compute
from companion.loom.tie_up import LoomKind, Ties, tie_up
from companion.out.paper.sheets import sheets
from companion.out.report import report
from companion.plan.draft.draft import Draft
from companion.plan.draft.lifts import lifted_shafts
from companion.wording.openings import opening
from companion.wording.remarks import told as remarked

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan

TWILL = ((1, 2), (2, 3), (3, 4), (1, 4))
KINDS: tuple[LoomKind | None, ...] = (None, "jack", "counterbalance", "countermarch")
QUIET = Options(cautions=False, stage_cautions=False, tell_help=False)


def draft(
    treadles: tuple[tuple[int, ...], ...] = TWILL,
    *,
    is_rising_shed: bool = True,
    picks: tuple[tuple[int, ...], ...] = (),
    shafts: int = 4,
) -> Draft:
    """Return a straight draw with this tie-up."""
    threading = tuple(range(1, shafts + 1))
    return Draft(threading, ("",) * shafts, (), treadles, is_rising_shed, picks)


def tying(kind: str | None, **drafted: Any) -> Stage:
    """Return the tying up of a 2/2 twill on a loom of this kind."""
    fields = {"treadles": TWILL, **drafted}
    return stage(compute(make_plan(straight(8), drafted=fields, loom={"kind": kind})), "tie-up")


def test_eight_shafts_and_ten_treadles_of_a_countermarch_take_eighty_cords() -> None:
    """Every shaft is tied to every treadle (leighsfiberjournal.blogspot.com, May 2024)."""
    treadles = tuple((1 + at % 8, 1 + (at + 3) % 8) for at in range(10))
    plan = tie_up(
        draft(tuple(tuple(sorted(marked)) for marked in treadles), shafts=8), "countermarch"
    )
    assert sum(ties.number for ties in plan.treadles) == 80


@pytest.mark.parametrize(
    ("kind", "rising", "expected"),
    [  # Jack: rising shafts; counterbalance: sinking ones; countermarch: all of them
        # (leighsfiberjournal.blogspot.com, May 2024).
        ("jack", True, Ties(up=(1, 2))),
        ("jack", False, Ties(up=(3, 4))),
        ("counterbalance", True, Ties(down=(3, 4))),
        ("counterbalance", False, Ties(down=(1, 2))),
        ("countermarch", True, Ties((1, 2), (3, 4))),
        ("countermarch", False, Ties((3, 4), (1, 2))),
        (None, True, Ties(up=(1, 2))),
        (None, False, Ties(down=(1, 2))),
    ],
)
def test_a_loom_is_tied_the_way_it_moves(
    *, kind: LoomKind | None, rising: bool, expected: Ties
) -> None:
    """The first treadle of a 2/2 twill on each kind of loom, from marks that rise or sink."""
    plan = tie_up(draft(is_rising_shed=rising), kind)
    assert plan.treadles[0] == expected
    is_turned = kind in {"jack", "counterbalance"} and rising != (kind == "jack")
    assert plan.way == ("others" if is_turned else "marked")


def test_an_empty_treadle_stays_empty() -> None:
    """A treadle that the plan leaves untied gets no ties on any loom."""
    for kind in KINDS:
        assert tie_up(draft(((1, 2), ())), kind).treadles[1] == Ties()


def test_treadles_pressed_together_leave_the_others_open() -> None:
    """A tie-up that is worked with two treadles at once leaves gaps on purpose
    (fibre2fabric.blogspot.com, September 2007), so only what is marked is tied."""
    together = draft(((1,), (2,), (3,)), picks=((1, 2), (3,)))
    plan = tie_up(together, "countermarch")
    assert plan.treadles == (Ties((1,), (3, 4)), Ties((2,), (3, 4)), Ties((3,), (1, 2, 4)))
    assert (plan.way, plan.picks, plan.has_gaps) == ("marked", together.picks, True)
    assert tie_up(together, "jack").treadles == (Ties((1,)), Ties((2,)), Ties((3,)))


ONE_SHAFT_EACH = ((1,), (2,), (3,), (4,))
BY_TWO = ((1,), (1, 2), (2, 3), (3, 4))


@pytest.mark.parametrize(
    ("kind", "rising"), [("counterbalance", True), ("countermarch", True), ("jack", False)]
)
def test_treadles_pressed_together_where_the_loom_moves_the_other_way(
    *, kind: LoomKind, rising: bool
) -> None:
    """One shaft to a treadle; treadle 1 pressed alone and with 2. Alone it must move shaft 2 one
    way, and with treadle 2 the other, so no ties of its own will do; the four sheds go on the four
    treadles instead (worked out by hand)."""
    plan = tie_up(draft(ONE_SHAFT_EACH, is_rising_shed=rising, picks=BY_TWO), kind)
    assert (plan.way, plan.picks) == ("a-shed-each", ((1,), (2,), (3,), (4,)))
    up, down = ((1, 2), (3, 4)) if rising else ((3, 4), (1, 2))
    assert plan.treadles[1] == Ties(up if plan.raises else (), down if plan.lowers else ())


def test_treadles_pressed_together_may_share_the_other_shafts() -> None:
    """A 2/2 twill of one shaft to a treadle on a counterbalance loom: treadle 1 lies in the sheds
    of 1, 2 and of 1, 4, and neither raises 3, which it may lower (worked out by hand)."""
    plan = tie_up(draft(ONE_SHAFT_EACH, picks=TWILL), "counterbalance")
    assert (plan.way, plan.picks) == ("others", TWILL)
    assert plan.treadles == tuple(Ties(down=(shaft,)) for shaft in (3, 4, 1, 2))


def test_a_tie_up_that_cannot_be_had_is_said_and_left_out() -> None:
    """Five sheds of two treadles and of one each, on a counterbalance loom of four treadles."""
    five = (*BY_TWO, (1, 4))
    plan = make_plan(
        straight(8),
        drafted={"treadles": ONE_SHAFT_EACH, "picks": five},
        loom={"kind": "counterbalance"},
    )
    dressing = compute(plan)
    assert dressing.tie_up is not None
    assert (dressing.tie_up.way, dressing.tie_up.treadles) == ("none", ())
    assert left_out(dressing)["tie-up"] is LeftOut.NO_SUCH_TIES
    assert "tie-up" not in whole_job(dressing)
    (note,) = (note for note in map(remarked, dressing.notes) if "With these ties" in note)
    assert note == (
        "With these ties a counterbalance loom cannot make the sheds of treadles pressed together, "
        "and 5 sheds with a treadle each are more than its 4 treadles. Where there are 5 treadles, "
        "write a tie-up with one for each shed."
    )
    assert "cannot make the plan's sheds" in opening(stage(dressing, "first-picks"))
    assert sheet_of(sheets(dressing), "lift plan").lines[0].pieces == ("1 1+2 2+3 3+4 1+4",)


def test_a_shed_each_is_told_in_the_walk_the_notes_and_the_sheets() -> None:
    """Nothing names the treadles as the plan presses them."""
    plan = make_plan(
        straight(8),
        drafted={"treadles": ONE_SHAFT_EACH, "picks": BY_TWO},
        loom={"kind": "counterbalance"},
    )
    dressing = compute(plan)
    assert "one treadle is pressed for each pick" in opening(stage(dressing, "tie-up"))
    assert any(
        note.endswith("instead of 1+2 press 2, 2+3 press 3 and 3+4 press 4.")
        for note in map(remarked, dressing.notes)
    )
    found = sheets(dressing)
    assert sheet_of(found, "treadling").lines[0].pieces == ("1 2 3 4",)
    assert sheet_of(found, "tie-up").lines[1].pieces == ("3 4",)
    assert "Treadle 2: shafts 3 and 4." in list(report(dressing))


def test_a_counterbalance_loom_is_warned_of_one_shaft_against_three() -> None:
    """Common practice, no source: its shafts balance two against two."""
    one = {"treadles": ((1,), (2,), (1, 2)), "picks": ((1,), (3,))}
    notes = compute(make_plan(straight(8), drafted=one, loom={"kind": "counterbalance"})).notes
    (note,) = (note for note in map(remarked, notes) if "against 3" in note)
    assert note.startswith("1 shed of this plan sets 1 shaft against 3;")
    assert not any("against 3" in remarked(note) for note in tying("counterbalance").dressing.notes)


def raised_by(kind: LoomKind | None, rising: bool, ties: list[Ties], used: set[int]) -> set[int]:  # noqa: FBT001
    """Return what stands above when treadles with these ties are pressed, by the loom's own rule.

    None of a countermarch loom's shafts may hang free or be pulled both ways.
    """
    up = {shaft for each in ties for shaft in each.up}
    down = {shaft for each in ties for shaft in each.down}
    if kind == "countermarch":
        assert up | down == used
        assert not up & down
        return up
    if kind == "jack" or (kind is None and rising):
        assert not down
        return up
    assert not up
    return used - down


@untimed
@given(st.data(), st.booleans(), st.sampled_from(KINDS))
def test_every_pick_makes_the_drafts_shed_on_its_loom(
    data: st.DataObject,
    rising: bool,  # noqa: FBT001
    kind: LoomKind | None,
) -> None:
    """Whatever is pressed together, the ties told make the sheds drawn down, or none are told."""
    treadles = data.draw(TREADLES)
    press = st.lists(st.integers(1, len(treadles)), unique=True, min_size=1, max_size=3)
    picks = data.draw(st.lists(press.map(sorted).map(tuple), max_size=8).map(tuple))
    told = draft(treadles, is_rising_shed=rising, picks=picks)
    plan = tie_up(told, kind)
    if plan.way == "none":
        assert len(set(lifted_shafts(told))) > len({pick for pick in picks if len(pick) == 1})
        assert kind is not None
        return
    for own, lifted in zip(plan.picks, lifted_shafts(told), strict=True):
        ties = [plan.treadles[treadle - 1] for treadle in own]
        assert raised_by(kind, rising, ties, {1, 2, 3, 4}) == lifted
        assert plan.raised(own) == lifted


def test_a_shaft_that_is_not_used_is_not_tied() -> None:
    """On a countermarch there are gaps only for unused shafts (fibre2fabric.blogspot.com, July
    2008)."""
    three = Draft((1, 2, 3), ("",) * 3, (), ((1,), (2, 3)))
    assert tie_up(three, "countermarch").treadles == (Ties((1,), (2, 3)), Ties((2, 3), (1,)))


def test_each_treadle_is_told_and_counted() -> None:
    """Treadle 3 of a twill on a countermarch: two up, two down, four ties."""
    lines = printed(walk(tying("countermarch"), QUIET))
    at = lines.index("Treadle 3: shafts 3 and 4 up; the others down.")
    assert lines[at + 1 : at + 3] == [
        "How many?",
        "4, right.",
    ]
    assert lines[-1] == "Tying up the treadles is complete: 16 ties in 4 groups."


def test_which_way_a_tie_goes_is_told_once() -> None:
    """The marks of the plan, what a tie does on this loom, and whether the others are tied."""
    assert "The plan's tie-up marks the shafts that rise. On a jack loom" in opening(tying("jack"))
    turned = tying("jack", is_rising_shed=False)
    assert "marks the shafts that sink" in opening(turned)
    assert "So the shafts told are not those marked, but the others." in opening(turned)
    assert told(turned)[0] == "treadle 1: shafts 3 and 4"
    # Lower, longer lamms raise and upper, shorter ones sink: leighsfiberjournal, May 2024.
    lamms = "For up, tie to the lower, longer lamms; for down, to the upper, shorter ones."
    assert lamms in opening(tying("countermarch"))


def test_a_treadle_left_untied_keeps_its_number_and_is_not_counted() -> None:
    """Treadle 2 is told as empty, and treadle 3 is still treadle 3."""
    walked = tying("jack", treadles=((1, 3), (), (2, 4)))
    assert told(walked) == [
        "treadle 1: shafts 1 and 3",
        "treadle 2: leave it without ties",
        "treadle 3: shafts 2 and 4",
    ]
    assert [group.expected for group in walked.groups] == [2, 0, 2]


TREADLES = st.lists(
    st.lists(st.integers(1, 4), unique=True, min_size=1, max_size=4).map(sorted).map(tuple),
    min_size=1,
    max_size=5,
).map(tuple)


@untimed
@given(treadles=TREADLES, rising=st.booleans(), kind=st.sampled_from(KINDS))
def test_the_ties_raise_what_the_draft_raises(
    *, treadles: tuple[tuple[int, ...], ...], rising: bool, kind: LoomKind | None
) -> None:
    """Pressed one at a time, the ties lift the shafts that the drawdown's rule lifts."""
    one_each = tuple((number,) for number in range(1, len(treadles) + 1))
    drafted = draft(treadles, is_rising_shed=rising, picks=one_each)
    plan = tie_up(drafted, kind)
    for ties, lifted in zip(plan.treadles, lifted_shafts(drafted), strict=True):
        moves_up = bool(ties.up) or (kind == "jack" or (kind is None and rising))
        raised = set(ties.up) if moves_up else {1, 2, 3, 4} - set(ties.down)
        assert raised == lifted
        assert not set(ties.up) & set(ties.down)


@untimed
@given(job_plans())
def test_the_ties_asked_for_are_the_ties_told(plan: Plan) -> None:
    """At every treadle the count is of the shafts that its step names, or calls the others."""
    if not plan.draft.treadles:
        return
    dressing = compute(plan)
    walked = stage(dressing, "tie-up")
    assert dressing.tie_up is not None
    ties = dressing.tie_up.treadles
    assert [group.expected for group in walked.groups] == [each.number for each in ties]
    for line, each in zip(told(walked), ties, strict=True):
        words = line.partition(": ")[2].replace(",", " ").replace(";", " ").split()
        named = [int(word) for word in words if word.isdigit()]
        if "others" in words:
            named += {row.shaft for row in dressing.heddles}.difference(named)
        assert sorted(named) == sorted(chain(each.up, each.down))
