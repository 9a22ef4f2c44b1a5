"""From reports to slips: against brute force on small looms, a reference library, and by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from diagnosis_oracle import (
    THREADINGS,
    Look,
    Threading,
    by_counts,
    by_total,
    by_touch,
    by_touch_and_spares,
    one_slip,
    score,
    two_slips,
)
from hypothesis import assume, example, given
from hypothesis import strategies as st
from rapidfuzz.distance import OSA
from small_plans import make_plan, plans

from companion.diagnosis.diagnose import MOST_TOLD, diagnose
from companion.diagnosis.effect import effect
from companion.diagnosis.mends import How, dent_mend, mends
from companion.diagnosis.planned import Planned, planned_ends, planned_group
from companion.diagnosis.sleying import dent_diagnoses
from companion.diagnosis.slips import (
    Advice,
    Diagnosis,
    Findings,
    Observed,
    Slip,
    SlipKind,
    Span,
    applied,
)
from companion.loom.compute import compute
from companion.plan.draft.draft import Draft
from companion.wording.slips import (
    diagnosis_sentences,
    effect_sentence,
    mend_sentence,
)

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan

LOOKS = (by_touch, by_touch_and_spares, by_counts, by_total)
SMALL = Threading("small", ((1, 2, 3), (3, 2, 1)), shafts=3)
"""Few enough ends that every two slips are tried in a test; tests/bench tries all THREADINGS."""


def _planned(units: list[tuple[int, ...]], shafts: int = 4) -> Planned:
    return Threading("by hand", tuple(units), shafts).planned()


POINT = _planned([(1, 2, 3, 4, 3, 2)] * 4)
BLOCKS = _planned([(6, 8, 6, 7), (2, 4, 2, 3), (1, 3, 1, 2)], shafts=8)


def _first(findings: Findings) -> list[tuple[SlipKind, int, int]]:
    assert findings.diagnoses
    return [(slip.kind, slip.first, slip.last) for slip in findings.diagnoses[0].slips]


@pytest.mark.parametrize("threading", THREADINGS, ids=lambda threading: threading.name)
@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.__name__)
def test_every_single_slip_stands_first(threading: Threading, look: Look) -> None:
    """Whatever one slip a report can tell from all others is the first answer, every time."""
    result = score(threading, one_slip(threading), look, [])
    assert result.tellable > 0
    assert result.first == result.tellable


@pytest.mark.parametrize("look", [by_touch, by_touch_and_spares, by_counts])
def test_two_slips_stand_first_nearly_always(look: Look) -> None:
    """Of all two slips that a report can tell at all, nine in ten and more are the first answer."""
    result = score(SMALL, two_slips(SMALL), look, one_slip(SMALL))
    assert result.tellable > 500
    assert result.first >= 0.9 * result.tellable


@given(st.lists(st.integers(1, 4), max_size=14), st.lists(st.integers(1, 4), max_size=14))
def test_as_few_slips_as_the_textbook_distance(shafts: list[int], felt: list[int]) -> None:
    """Without units the slips are as many as the optimal string alignment distance.

    That is Damerau's distance with no place edited twice, as the library rapidfuzz computes it.
    """
    distance = OSA.distance(shafts, felt)
    assume(0 < distance <= 5)
    planned = Planned(1, tuple(shafts), all_shafts=(1, 2, 3, 4))
    found = diagnose(planned, Observed(felt=tuple(felt)))
    assert len(found.diagnoses[0].slips) == distance


@given(st.data())
def test_what_is_told_explains_the_whole_report(data: st.DataObject) -> None:
    """Every explanation gives, made on the plan, just the shafts felt and the heddles left."""
    units = data.draw(st.lists(st.lists(st.integers(1, 4), min_size=1, max_size=5), max_size=6))
    planned = _planned([tuple(unit) for unit in units])
    felt = list(planned.shafts)
    for _ in range(data.draw(st.integers(0, 3))):
        place = data.draw(st.integers(0, len(felt)))
        felt[place : place + data.draw(st.integers(0, 2))] = data.draw(
            st.lists(st.integers(1, 4), max_size=2)
        )
    spare = {
        shaft: planned.shafts.count(shaft) - felt.count(shaft) - data.draw(st.integers(0, 1))
        for shaft in range(1, 5)
    }
    for diagnosis in diagnose(planned, Observed(felt=tuple(felt), spare=spare)).diagnoses:
        assert applied(planned.shafts, diagnosis.slips) == tuple(felt)
        told = dict.fromkeys(spare, 0)
        for slip in diagnosis.slips:
            for shaft, number in slip.spare_change.items():
                told[shaft] += number
        assert told == spare


@given(st.integers(0, 30), st.lists(st.integers(-3, 3), min_size=4, max_size=4))
@example(18, [1, 0, 0, 0])
def test_counts_are_explained_or_a_reading_is_asked_for(total: int, spare: list[int]) -> None:
    """From counts alone every explanation adds up to them; else the weaver is sent to feel."""
    report = Observed(total=total, spare=dict(enumerate(spare, 1)))
    found = diagnose(POINT, report)
    assert found.diagnoses or found.advice
    for diagnosis in found.diagnoses:
        assert sum(slip.total_change for slip in diagnosis.slips) == total - 24
        for shaft, number in enumerate(spare, 1):
            assert sum(slip.spare_change[shaft] for slip in diagnosis.slips) == number


def test_a_whole_group_of_crossed_pairs_is_one_slip() -> None:
    """6 8 6 7 2 4 2 3 threaded as 8 6 7 6 4 2 3 2 is one slip, not eight wrong ends.

    The case is a weaver's own (Talking About Weaving, talkingaboutweaving.blogspot.com, 2010/05).
    """
    planned = _planned([(6, 8, 6, 7, 2, 4, 2, 3)], shafts=8)
    found = diagnose(planned, Observed(felt=(8, 6, 7, 6, 4, 2, 3, 2)))
    assert _first(found) == [(SlipKind.PAIRS_SWAPPED, 1, 8)]


def test_an_end_for_shaft_five_on_six_is_a_wrong_shaft() -> None:
    """A thread meant for shaft 5 put on 6 (skyloomweavers.com, "Repair heddles")."""
    planned = _planned([(1, 2, 3, 4, 5, 6, 7, 8)] * 2, shafts=8)
    felt = (1, 2, 3, 4, 6, 6, 7, 8, *planned.shafts[8:])
    found = diagnose(planned, Observed(total=16, spare={5: 1, 6: -1}, felt=felt))
    assert _first(found) == [(SlipKind.REPEATED_SHAFT, 5, 5)]
    assert mends(found.diagnoses[0], threaded_to=16)[0].how == (How.REPAIR_HEDDLE,)


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (lambda felt: felt[:6] + felt[12:], [(SlipKind.UNIT_SKIPPED, 19, 24)]),
        (lambda felt: felt + felt[:6], [(SlipKind.UNIT_ADDED, 25, 24)]),
        (lambda felt: felt[:4] + felt[5:], [(SlipKind.MISSED_END, 5, 5)]),
        (lambda felt: felt[:4] + felt[5:3:-1] + felt[6:], [(SlipKind.TRANSPOSED, 5, 6)]),
        (lambda felt: felt[:6] + felt[11:5:-1] + felt[12:], [(SlipKind.UNIT_MIRRORED, 7, 12)]),
    ],
)
def test_slips_of_a_point_threading(
    change: object, expected: list[tuple[SlipKind, int, int]]
) -> None:
    """Units left out, threaded twice and mirrored, and single slips, each have their own name."""
    assert callable(change)
    assert _first(diagnose(POINT, Observed(felt=change(POINT.shafts)))) == expected


def test_units_in_the_wrong_order_are_one_slip() -> None:
    """Two neighbouring blocks threaded the other way round are told as that."""
    felt = (2, 4, 2, 3, 6, 8, 6, 7, 1, 3, 1, 2)
    assert _first(diagnose(BLOCKS, Observed(felt=felt))) == [(SlipKind.UNITS_SWAPPED, 1, 8)]


def test_every_place_of_a_unit_left_out_is_known() -> None:
    """Which of four like units is missing cannot be told, so all four are named."""
    slip = diagnose(POINT, Observed(felt=POINT.shafts[6:])).diagnoses[0].slips[0]
    assert slip.places == (Span(1, 6), Span(7, 12), Span(13, 18), Span(19, 24))


def test_spare_heddles_tell_a_doubled_end_from_an_extra_one() -> None:
    """Two ends of one shaft side by side feel the same; the spare heddles know."""
    felt = (*POINT.shafts[:5], 3, *POINT.shafts[5:])
    doubled = diagnose(POINT, Observed(felt=felt, spare={}))
    extra = diagnose(POINT, Observed(felt=felt, spare={3: -1}))
    assert _first(doubled) == [(SlipKind.DOUBLED_END, 5, 5)]
    assert _first(extra) == [(SlipKind.EXTRA_END, 6, 5)]


def test_a_feeling_broken_off_is_judged_as_far_as_it_went() -> None:
    """A weaver who stops at the first difference is not told that the rest is missing."""
    report = Observed(felt=(1, 2, 3, 4, 4), is_felt_whole=False)
    assert _first(diagnose(POINT, report))[0][1:] in {(5, 5), (4, 4)}
    right = Observed(felt=(1, 2, 3, 4), total=24, is_felt_whole=False)
    assert diagnose(POINT, right) == Findings(())


def test_right_counts_say_what_they_cannot_see() -> None:
    """Counts cannot see the order of the ends, and that is said; felt shafts can."""
    assert diagnose(POINT, Observed(total=24, spare={})) == Findings((), (Advice.ORDER_UNSEEN,))
    assert diagnose(POINT, Observed(felt=POINT.shafts)) == Findings(())


def test_reports_that_cannot_all_be_true_are_said_to() -> None:
    """A total or spare heddles at odds with what was felt ask for another look."""
    at_odds = diagnose(POINT, Observed(total=23, felt=POINT.shafts))
    impossible = diagnose(POINT, Observed(spare={1: 5}, felt=POINT.shafts))
    assert (at_odds.advice, impossible.advice) == ((Advice.CONTRADICTION,),) * 2


def test_what_nothing_explains_asks_for_a_reading() -> None:
    """Shafts unlike the plan, and counts far from it, are no diagnosis."""
    strange = diagnose(POINT, Observed(felt=(4, 4, 1, 1, 2, 2) * 4))
    far = diagnose(POINT, Observed(total=24, spare={1: 9}))
    assert (strange, far) == (Findings((), (Advice.READ_BACK,)),) * 2


def test_never_more_answers_than_an_ear_can_keep() -> None:
    """However many explanations there are, four are told at most, the likeliest first."""
    found = diagnose(POINT, Observed(total=22, spare={1: 1, 2: 1, 3: 1, 4: -1})).diagnoses
    assert 0 < len(found) <= MOST_TOLD
    costs = [diagnosis.cost for diagnosis in found]
    assert costs == sorted(costs)


@given(plans())
def test_what_was_planned_comes_from_the_dressing(plan: Plan) -> None:
    """Shafts, units and heddles shared by doubled ends are those of the dressing, end by end."""
    dressing = compute(plan)
    whole = planned_ends(dressing)
    assert whole.shafts == tuple(end.shaft for end in dressing.ends)
    assert whole.units[0].first == 1
    assert whole.units[-1].last == len(dressing.ends)
    assert len(whole.shared) == len(dressing.ends) - len(dressing.draft.shafts)
    groups = [planned_group(dressing, group.number) for group in dressing.groups]
    assert tuple(shaft for group in groups for shaft in group.shafts) == whole.shafts
    assert [(group.first, group.last) for group in groups] == [tuple(span) for span in whole.groups]


TWILL = Draft(
    shafts=(1, 2, 3, 4) * 4,
    colours=("",) * 16,
    units=(),
    treadles=((1, 2), (2, 3), (3, 4), (1, 4)),
    picks=((1,), (2,), (3,), (4,)),
)


def _diagnosis(
    kind: SlipKind, first: int, planned: tuple[int, ...], found: tuple[int, ...]
) -> Diagnosis:
    return Diagnosis((Slip(kind, first, first + len(planned) - 1, planned, found),))


def test_a_wrong_shaft_in_a_twill_shows_in_half_the_picks() -> None:
    """In a 2/2 twill neighbouring shafts differ in two picks of four (by hand, from the tie-up).

    The wrong end weaves as its neighbour does: one pair more that is as one thread.
    """
    done = effect(TWILL, TWILL.shafts, _diagnosis(SlipKind.REPEATED_SHAFT, 6, (2,), (3,)))
    assert (done.ends_changed, done.crossings_changed, done.pairs_as_one) == (1, 2, 1)


def test_a_missed_end_lengthens_the_float() -> None:
    """In a 2/2 twill a missing end joins two like neighbours over three (by hand)."""
    plain = Draft((1, 2) * 4, ("",) * 8, (), treadles=((1,), (2,)), picks=((1,), (2,)))
    done = effect(plain, plain.shafts, _diagnosis(SlipKind.MISSED_END, 3, (1,), ()))
    assert done.floats_planned is not None
    assert done.floats_now is not None
    assert (done.floats_planned.weft_on_face, done.floats_now.weft_on_face) == (1, 2)
    assert (done.ends_missing, done.ends_added, done.pairs_as_one) == (1, 0, 1)


@given(st.integers(1, 16), st.integers(1, 5))
def test_changed_crossings_are_the_drawdowns_difference(end: int, shaft: int) -> None:
    """Crossings said to change are those in which the two drawdowns, drawn whole, differ."""
    wrong = list(TWILL.shafts)
    wrong[end - 1] = shaft
    diagnosis = _diagnosis(SlipKind.WRONG_SHAFT, end, (TWILL.shafts[end - 1],), (shaft,))
    lifted = [set(TWILL.treadles[pick[0] - 1]) for pick in TWILL.picks]
    differing = sum(
        (one in lift) != (other in lift)
        for lift in lifted
        for one, other in zip(TWILL.shafts, wrong, strict=True)
    )
    assert effect(TWILL, TWILL.shafts, diagnosis).crossings_changed == differing


def test_without_a_treadling_nothing_is_claimed_of_floats() -> None:
    """A draft that is threaded only has no cloth to compare."""
    bare = Draft((1, 2, 3, 4), ("",) * 4, ())
    done = effect(bare, bare.shafts, _diagnosis(SlipKind.WRONG_SHAFT, 1, (1,), (3,)))
    assert (done.crossings_changed, done.floats_planned, done.floats_now) == (0, None, None)


@pytest.mark.parametrize(
    ("diagnosis", "how", "ends", "heddles"),
    [
        (_diagnosis(SlipKind.WRONG_SHAFT, 10, (2,), (4,)), How.REPAIR_HEDDLE, 1, 1),
        (_diagnosis(SlipKind.MISSED_END, 10, (2,), ()), How.REPAIR_HEDDLE, 1, 1),
        (_diagnosis(SlipKind.DOUBLED_END, 10, (2,), (2, 2)), How.PULL_ENDS, 1, 0),
        (_diagnosis(SlipKind.EXTRA_END, 10, (), (3,)), How.PULL_ENDS, 1, 0),
        (_diagnosis(SlipKind.TRANSPOSED, 10, (2, 3), (3, 2)), How.SWAP_ENDS, 2, 0),
        (_diagnosis(SlipKind.UNIT_MIRRORED, 10, (1, 2, 3, 4), (4, 3, 2, 1)), How.SWAP_ENDS, 4, 0),
        (_diagnosis(SlipKind.UNIT_SKIPPED, 10, (1, 2, 3, 4), ()), How.RETHREAD, 91, 0),
    ],
)
def test_the_cheapest_mend_comes_first(
    diagnosis: Diagnosis, how: How, ends: int, heddles: int
) -> None:
    """At end 10 of 100 threaded, each slip has its own cheapest mend (common practice)."""
    offered = mends(diagnosis, threaded_to=100)
    assert offered[0].how == (how,)
    assert (offered[0].ends, offered[0].repair_heddles) == (ends, heddles)
    assert [mend.effort for mend in offered] == sorted(mend.effort for mend in offered)
    assert offered[-1].how == (How.RETHREAD,)
    assert (offered[-1].first, offered[-1].last) == (10, 100)


def test_near_the_last_end_threading_anew_is_cheaper() -> None:
    """A slip in the very last end is quicker pulled than given a repair heddle."""
    offered = mends(_diagnosis(SlipKind.WRONG_SHAFT, 40, (2,), (4,)), threaded_to=40)
    assert [mend.how for mend in offered] == [(How.RETHREAD,), (How.REPAIR_HEDDLE,)]


def test_a_missed_end_whose_heddle_hangs_there_is_drawn_in() -> None:
    """Where the heddle was left, no repair heddle is needed."""
    slip = Slip(SlipKind.MISSED_END, 10, 10, (2,), (), is_heddle_there=True)
    assert mends(Diagnosis((slip,)), 100)[0][:3] == ((How.THREAD_END,), 1, 0)


def test_a_skipped_heddle_alone_may_stay() -> None:
    """A single stray empty heddle can stay (Talking About Weaving, 2007/11)."""
    slip = Slip(SlipKind.SKIPPED_HEDDLE, 1, 24, shaft=3)
    assert [mend.how for mend in mends(Diagnosis((slip,)), 24)] == [(How.LEAVE,)]
    assert mends(Diagnosis(()), 24) == ()


@pytest.mark.parametrize(
    ("felt", "expected"),
    [
        ((2, 2, 0, 2, 2, 2), [(SlipKind.SKIPPED_DENT, 3, 2)]),
        ((2, 4, 2, 2), [(SlipKind.DOUBLED_DENT, 2, 3)]),
        ((2, 2, 1, 2, 2), [(SlipKind.WRONG_DENT, 3, 3)]),
        ((0, 2, 2, 2, 4), [(SlipKind.SKIPPED_DENT, 1, 0), (SlipKind.DOUBLED_DENT, 4, 5)]),
        ((2, 2, 0), [(SlipKind.SKIPPED_DENT, 3, 2)]),
        ((2, 4, 2), [(SlipKind.DOUBLED_DENT, 2, 3)]),
    ],
)
def test_dents_felt_tell_what_and_where(
    felt: tuple[int, ...], expected: list[tuple[SlipKind, int, int]]
) -> None:
    """A skipped and a doubled dent, even one of each, are found where they are; a row that ends
    behind them, before the last dent, found nothing."""
    assert _first(dent_diagnoses((2,) * 5, felt=felt)) == expected


def test_a_sley_order_taken_the_wrong_way_round_is_one_slip() -> None:
    """A 1-2 pair sleyed 2-1 is one slip of two dents, and only their ends are done anew."""
    found = dent_diagnoses((1, 2, 1, 2), felt=(1, 2, 2, 1), first_dent=11)
    assert _first(found) == [(SlipKind.WRONG_DENT, 13, 14)]
    mend = dent_mend(found.diagnoses[0].slips[0], (1, 2) * 10)
    assert (mend.ends, mend.first, mend.last) == (3, 19, 21)


def test_dents_counted_tell_how_many_but_not_where() -> None:
    """Dents used beyond the plan are skipped, fewer are doubled; one of each cancels out."""
    more = dent_diagnoses((2,) * 5, dents_used_more=2).diagnoses[0]
    fewer = dent_diagnoses((2,) * 5, dents_used_more=-1).diagnoses[0]
    assert [slip.kind for slip in more.slips] == [SlipKind.SKIPPED_DENT] * 2
    assert [slip.kind for slip in fewer.slips] == [SlipKind.DOUBLED_DENT]
    assert len(more.slips[0].places) == 5
    assert dent_diagnoses((2,) * 5, dents_used_more=0).advice == (Advice.ORDER_UNSEEN,)
    assert dent_diagnoses((2,) * 5, felt=(2,) * 5) == Findings(())
    assert dent_diagnoses((2,) * 5, dents_used_more=40).advice == (Advice.READ_BACK,)


@given(st.lists(st.integers(1, 3), min_size=1, max_size=30), st.data())
def test_one_slip_in_the_reed_is_found(counts: list[int], data: st.DataObject) -> None:
    """Any one dent left empty is found as that, and explains what was felt."""
    place = data.draw(st.integers(0, len(counts)))
    found = dent_diagnoses(tuple(counts), felt=(*counts[:place], 0, *counts[place:]))
    assert _first(found) == [(SlipKind.SKIPPED_DENT, place + 1, place)]


@pytest.mark.parametrize(
    ("slip", "ends", "first", "last"),
    [
        (Slip(SlipKind.SKIPPED_DENT, 4, 3), 6, 1, 6),
        (Slip(SlipKind.SKIPPED_DENT, 9, 8), 4, 17, 20),
        (Slip(SlipKind.DOUBLED_DENT, 2, 3), 4, 1, 4),
        (Slip(SlipKind.DOUBLED_DENT, 8, 9), 4, 17, 20),
        (Slip(SlipKind.WRONG_DENT, 1, 1, (2,), (1,)), 2, 1, 2),
    ],
)
def test_the_reed_is_sleyed_anew_to_the_nearer_edge(
    slip: Slip, ends: int, first: int, last: int
) -> None:
    """Of ten dents of two ends only those between the slip and the nearer edge are pulled."""
    mend = dent_mend(slip, (2,) * 10)
    assert (mend.how, mend.ends, mend.first, mend.last) == ((How.RESLEY,), ends, first, last)


def test_one_end_is_no_stretch() -> None:
    """An empty heddle beside one end hangs there, and not "among ends 17 to 17"."""
    spare = Diagnosis((Slip(SlipKind.SKIPPED_HEDDLE, 17, 17, shaft=2),))
    assert diagnosis_sentences(spare) == "An empty heddle of shaft 2 hangs at end 17."


def test_before_a_floating_selvedge_no_end_is_sleyed_again() -> None:
    """Where only the selvedge lies before the slip, the ends after it are sleyed: not 1 to 0."""
    slip = Slip(SlipKind.DOUBLED_DENT, 1, 2)
    assert dent_mend(slip, (0, 2, 2))[2:] == (0, 1, 4)


def test_sentences_say_what_where_and_how() -> None:
    """Slips, mends and effects are told in short sentences with the plan's numbers."""
    wrong = _diagnosis(SlipKind.WRONG_SHAFT, 8, (2,), (4,))
    assert diagnosis_sentences(wrong) == "End 8 is on shaft 4 instead of shaft 2."
    assert mend_sentence(mends(wrong, 24)[0]) == "Tie a repair heddle and draw end 8 through it."
    counted = diagnose(POINT, Observed(total=23, spare={1: 1})).diagnoses[0]
    assert diagnosis_sentences(counted) == (
        "An end of shaft 1 is missing. It may be at end 1, 7, 13 or 19."
    )
    left_out = diagnose(POINT, Observed(felt=POINT.shafts[6:])).diagnoses[0]
    assert diagnosis_sentences(left_out) == (
        "A unit of 6 ends is left out. It may be at end 1, 7, 13 or 19."
    )
    done = effect(TWILL, TWILL.shafts, _diagnosis(SlipKind.REPEATED_SHAFT, 6, (2,), (3,)))
    assert effect_sentence(done) == (
        "If it stays, the longest float goes from 2 to 3, 1 more pair weaves as one thread and "
        "1 end weaves off the plan, in 2 crossings."
    )


def test_a_group_of_a_real_plan_is_diagnosed() -> None:
    """From a computed plan to the slip in its second group, by the plan's own end numbers."""
    dressing = compute(make_plan((1, 2, 3, 4) * 12, groups={"by": "ends", "size": 16}))
    planned = planned_group(dressing, 2)
    felt = (*planned.shafts[:5], *planned.shafts[6:])
    assert (planned.first, planned.last) == (17, 32)
    assert _first(diagnose(planned, Observed(total=15, felt=felt))) == [
        (SlipKind.MISSED_END, 22, 22)
    ]
