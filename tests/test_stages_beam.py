"""Winding on the beam: turns, packing and where to leave off.

Packing between the layers, and about 12 inches left in front of the castle, are as the tutorial at
tygartlakefiberarts.com/wp/?page_id=83 has them; turns are computed by hand.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from job_walker import LENGTHS, named, printed, told, walk
from small_plans import make_plan, straight, untimed

from companion.job import stage
from companion.loom.beams import LEFT_INCHES
from companion.loom.compute import compute
from companion.loom.dressing import BeamPlan, Dressing
from companion.wording.cautions import DANGERS
from companion.wording.openings import opening

RADDLE = {"sections_per_inch": 2}


def dressed(around: Any = 20, each: int = 1, **tables: Any) -> Dressing:
    """Return a warp with a length, for a beam of this girth."""
    tables = {
        "raddle": RADDLE,
        "length": LENGTHS,
        "beam": {"around": around, "turns_a_step": each},
        **tables,
    }
    return compute(make_plan(straight(40), **tables))


def test_turns_come_from_the_length_and_the_girth() -> None:
    """The wound length less 12 inches, in whole turns of 20 inches (computed by hand from 60 / 0.9
    / 0.9 + 30 = 104.07, which is wound as 108 inches: 96 / 20 = 4.8)."""
    dressing = dressed()
    assert dressing.yarns is not None
    assert dressing.yarns.wind == 108
    assert dressing.beam == BeamPlan(4, 1)
    assert "At most 4 turns go on the beam." in opening(stage(dressing, "beam"))


def test_every_turn_is_a_step_with_its_reminder() -> None:
    """Packing from the first turn on, and the choke ties every third."""
    lines = printed(walk(stage(dressed(), "beam")))
    at = lines.index("Group 2, turns 1 to 4.")
    assert lines[at + 1 : at + 5] == [
        "Turn 1. Lay the packing in from here on.",
        "Turn 2. Packing.",
        "Turn 3. Packing. Look out for choke ties, and untie only the nearest.",
        "Turn 4. Packing.",
    ]
    assert "Leave off with about 12 inches in front of the castle." in lines


def test_several_turns_can_be_one_step() -> None:
    """With three turns a step the last one takes what is left."""
    lines = told(stage(dressed(each=3), "beam"))
    assert [words for words in lines if words.startswith("turn")] == ["turns 1 to 3", "turn 4"]


def test_a_long_warp_is_counted_in_turns_of_the_whole_beam() -> None:
    """Groups go by turns also where a step is several of them."""
    assert named(stage(dressed(around=1, each=2), "beam"))[1:-1] == [
        "turns 1 to 16",
        "turns 17 to 32",
        "turns 33 to 48",
        "turns 49 to 64",
        "turns 65 to 80",
        "turns 81 to 96",
    ]


def test_without_lengths_the_weaver_judges_when_to_leave_off() -> None:
    """Nothing is known of the turns, so the turning is one step and says where it ends."""
    lines = printed(walk(stage(dressed(length=None), "beam")))
    assert dressed(length=None).beam is None
    assert (
        "Wind on turn by turn, packing between the layers. Untie a choke only when it comes near. "
        "Go on until about 12 inches in front of the castle are left."
    ) in lines


def test_in_centimetres_thirty_are_left() -> None:
    """A metric plan speaks of 30 centimetres."""
    metric: dict[str, Any] = {"units": "metric", "reed": {"width": 100}, "length": None}
    assert any("30 centimetres" in line for line in told(stage(dressed(**metric), "beam")))


def test_from_the_front_there_is_no_raddle_and_no_rod_with_loops() -> None:
    """The warp comes through the reed, which spreads it."""
    lines = told(stage(dressed(loom={"method": "front-to-back"}), "beam"))
    assert lines[0] == "comb the warp out in front of the reed, and hold it in even bouts"
    assert not [words for words in lines if "raddle" in words or "loops" in words]
    assert "leave off with about 12 inches in front of the reed" in lines


def test_the_loaded_beam_is_warned_of() -> None:
    """A loaded beam is what can hurt here, and a second person is advised."""
    danger = stage(dressed(), "beam").danger
    assert danger is not None
    caution = DANGERS[danger]
    assert "ratchet and brake" in caution
    assert "second person" in caution


@untimed
@given(st.integers(1, 300), st.integers(1, 12))
def test_all_turns_are_walked_once(around: int, each: int) -> None:
    """The turns of the steps, strung together, are all turns, and they fit the length."""
    dressing = dressed(around=Fraction(around), each=each)
    assert dressing.beam is not None
    assert dressing.yarns is not None
    walked = stage(dressing, "beam")
    lines = [line for line in told(walked) if line.startswith("turn")]
    spans = [[int(word) for word in words.split() if word.isdigit()] for words in lines]
    turns = [turn for span in spans for turn in range(span[0], span[-1] + 1)]
    assert turns == list(range(1, dressing.beam.most_turns + 1))
    if dressing.beam.most_turns > 1:
        assert dressing.beam.most_turns * around <= dressing.yarns.wind - LEFT_INCHES
