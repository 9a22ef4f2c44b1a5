"""Drafts and cloths against handbooks in the public domain, each with the page it was read on.

Brooks: C. P. Brooks, *Cotton Manufacturing* (pages as at bitlit.ru).
Dooley: W. H. Dooley, *Textiles for Commercial, Industrial, and Domestic Arts Schools* (pages as at
bitlit.ru).
Taylor: J. T. Taylor, *Cotton Weaving and Designing*, 6th edition (pages as at bitlit.ru).
Wolfensberger: A. Wolfensberger, *Theory of Silk Weaving*, 2nd edition, 1921 (Project Gutenberg
14600, with the pages of the book).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from companion.loom.drawdown import check_sheds, drawdown, longest_floats
from companion.plan.draft.draft import Draft, repeat_units, shortest_period
from companion.plan.draft.lifts import lifted_shafts
from companion.plan.threading.named import find_named

Lifts = tuple[tuple[int, ...], ...]


def named(name: str) -> tuple[int, ...]:
    """Return one repeat of a threading that must be known."""
    threading = find_named(name)
    assert threading is not None, name
    return threading.shafts


def woven(shafts: tuple[int, ...], lifts: Lifts) -> Draft:
    """Return a draft whose picks lift these shafts."""
    return Draft(shafts, ("",) * len(shafts), repeat_units(shafts), lifts=lifts)


def ends_up(draft: Draft) -> Lifts:
    """Return the ends above the weft, pick by pick."""
    cloth = drawdown(draft)
    return tuple(cloth.ends_up(pick) for pick in range(1, len(cloth.rows) + 1))


@pytest.mark.parametrize("shafts", [4, 8])
def test_a_straight_draft_takes_the_healds_in_turn(shafts: int) -> None:
    """Wolfensberger, p. 8: the first heddle of the first shaft, then that of the next, and so on;
    Brooks, "Drafts", figure 35: the first end on the first heald, the second on the second."""
    assert named(f"straight {shafts}") == tuple(range(1, shafts + 1))


def test_plain_cloth_on_four_shafts_is_two_lifts() -> None:
    """Brooks, "Drafts", figure 36, draws such a skip draft 1, 3, 2, 4; Taylor, p. 152: with the
    first and second shafts tied together, and the third and fourth, only two lifts are required."""
    skip = (1, 3, 2, 4)
    assert check_sheds(skip * 2) == (frozenset({1, 2}), frozenset({3, 4}))
    assert ends_up(woven(skip, ((1, 2), (3, 4)))) == ((1, 3), (2, 4))


def test_a_honeycomb_of_eight_ends_is_a_point_draft_on_five_healds() -> None:
    """Brooks, "Drafts", figure 37: the eighth end works as the second, the seventh as the third,
    the sixth as the fourth; p. 59: heald 1 is lifted at picks 2 to 6 and 8 of the eight."""
    point = named("point 5")
    assert point == (1, 2, 3, 4, 5, 4, 3, 2)
    lifts: Lifts = ((), (1,), (1,), (1,), (1,), (1,), (), (1,))
    up = [pick for pick, ends in enumerate(ends_up(woven(point, lifts)), start=1) if ends]
    assert up == [2, 3, 4, 5, 6, 8]
    assert set(ends_up(woven(point, lifts))) == {(), (1,)}


@pytest.mark.parametrize("shafts", [8, 12])
def test_a_point_draw_has_twice_the_harness_less_two(shafts: int) -> None:
    """Wolfensberger, p. 11: twice the number of harness less 2, so 22 threads on 12; the first and
    the last shaft are used once, and the rest twice in one repeat."""
    point = named(f"point {shafts}")
    assert len(point) == 2 * shafts - 2
    uses = [point.count(shaft) for shaft in range(1, shafts + 1)]
    assert uses == [1, *[2] * (shafts - 2), 1]


def test_a_skip_draw_on_eight_harness_weaves_plain_cloth_by_its_halves() -> None:
    """Wolfensberger, p. 9: 1, 3, 5, 7, 2, 4, 6, 8, first the odd and then the even shafts."""
    skip = (1, 3, 5, 7, 2, 4, 6, 8)
    assert sorted(skip) == list(range(1, 9))
    sheds = check_sheds(skip * 2)
    assert sheds is not None
    up = ends_up(woven(skip, tuple(tuple(sorted(shed)) for shed in sheds)))
    assert up == ((1, 3, 5, 7), (2, 4, 6, 8))


def test_a_two_and_one_twill() -> None:
    """Taylor, p. 152: three shafts; the weft passes under one end and over two, and the first end
    is lifted for the first pick, the second for the second."""
    twill = woven(named("straight 3"), ((1,), (2,), (3,)))
    assert ends_up(twill) == ((1,), (2,), (3,))
    assert longest_floats(replace(twill, shafts=twill.shafts * 3)).weft_on_face == 2


@pytest.mark.parametrize(
    ("lifts", "raised"),
    [
        # figure 44: rising one in four; Dooley, p. 125: the first thread of each set of four is
        # raised, then the second, the third and the fourth, and a diagonal line forms
        (((1,), (2,), (3,), (4,)), 1),
        (((1, 2), (2, 3), (3, 4), (1, 4)), 2),  # figure 45: rising two in four, the cashmere twill
    ],
)
def test_four_shaft_twills_move_on_by_one_end(lifts: Lifts, raised: int) -> None:
    """Brooks, "Cloths woven by tappets": the same number is up at every pick, one end on."""
    rows = ends_up(woven(named("straight 4"), lifts))
    assert {len(row) for row in rows} == {raised}
    for one, after in pairwise((*rows, rows[0])):
        assert {end % 4 + 1 for end in one} == set(after)


@pytest.mark.parametrize(
    ("order", "source"),
    [
        ((1, 3, 5, 2, 4), "Wolfensberger, p. 33, and Brooks, figure 39"),
        ((1, 6, 11, 4, 9, 2, 7, 12, 5, 10, 3, 8), "Brooks, Cloths woven by tappets"),
    ],
)
def test_satins_lift_in_the_printed_order(order: tuple[int, ...], source: str) -> None:
    """Each end is bound once in a repeat, and no two neighbours one after the other."""
    straight = tuple(range(1, len(order) + 1))
    rows = ends_up(woven(straight, tuple((shaft,) for shaft in order)))
    assert tuple(row[0] for row in rows) == order, source
    around = pairwise((*order, order[0]))
    assert all(abs(one - after) not in {1, len(order) - 1} for one, after in around)


def test_the_broken_twill_on_four_harness_is_classed_among_the_satins() -> None:
    """Wolfensberger, p. 33: like them it binds each end once, but two neighbours do meet."""
    broken = named("broken 4")
    rows = ends_up(woven(broken, ((1,), (2,), (3,), (4,))))
    assert sorted(end for row in rows for end in row) == [1, 2, 3, 4]
    assert broken not in {(1, 2, 3, 4), (4, 3, 2, 1)}


def test_double_cloth_weaves_two_plain_layers() -> None:
    """Brooks, p. 69: the top cloth on healds 1 and 2, the bottom on 3 and 4, drawn by turns, and
    pegged 1; 1, 2, 4; 2; 1, 2, 3. The shuttle passes over three ends out of four, then under."""
    draft = woven((1, 3, 2, 4) * 2, ((1,), (1, 2, 4), (2,), (1, 2, 3)))
    rows = ends_up(draft)
    assert [len(row) for row in rows] == [2, 6, 2, 6]
    top, bottom = {1, 3, 5, 7}, {2, 4, 6, 8}
    assert rows[0] + rows[2] == (1, 5, 3, 7)
    assert all(top <= set(row) for row in (rows[1], rows[3]))
    assert [set(row) & bottom for row in (rows[1], rows[3])] == [{4, 8}, {2, 6}]


def test_a_stripe_of_satin_and_plain_takes_seven_shafts_and_ten_picks() -> None:
    """Taylor, p. 166: twenty ends of five-shaft satin and sixteen plain; ten is the least common
    multiple of five and two."""
    shafts = (*(1, 2, 3, 4, 5) * 4, *(6, 7) * 8)
    satin, plain = (1, 3, 5, 2, 4), (6, 7)
    lifts = tuple((satin[pick % 5], plain[pick % 2]) for pick in range(20))
    draft = woven(shafts, lifts)
    assert (len(shafts), len(set(shafts))) == (36, 7)
    order = {lift: number for number, lift in enumerate(dict.fromkeys(lifted_shafts(draft)))}
    assert shortest_period([order[lift] for lift in lifted_shafts(draft)]) == 10


def test_a_prunelle_twill_lowers_one_end_a_pick() -> None:
    """The three-harness prunelle, warp up: 2 and 3, then 1 and 3, then 1 and 2 (textileschool.com,
    "Twill weave derivatives"): Taylor's 2 and 1 twill, p. 152, seen from its other side."""
    face = ends_up(woven((1, 2, 3), ((2, 3), (1, 3), (1, 2))))
    back = ends_up(woven((1, 2, 3), ((1,), (2,), (3,))))
    assert [set(one) | set(other) for one, other in zip(face, back, strict=True)] == [{1, 2, 3}] * 3
