"""Taps, holds and double taps, and what must never be taken for one."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.devices.pedal.gesture import (
    Act,
    Gesture,
    SwitchReader,
    Tempo,
    Timing,
    TypedReader,
)
from companion.devices.pedal.keys import KeyChange, KeyEvent

TIMING = Timing()


def _play(
    reader: SwitchReader | TypedReader, *events: tuple[KeyChange, float], until: float = 60.0
) -> list[Act]:
    """Feed changes of one key, letting time pass as a caller that obeys deadlines would."""
    acts = []
    for change, time in events:
        while reader.deadline() <= time:
            acts += reader.tick(reader.deadline())
        acts += reader.feed(KeyEvent("f13", change, time))
    while reader.deadline() <= until:
        acts += reader.tick(reader.deadline())
    return acts


def _tap(at: float, lasting: float = 0.1) -> list[tuple[KeyChange, float]]:
    return [(KeyChange.PRESS, at), (KeyChange.RELEASE, at + lasting)]


def _gestures(acts: list[Act]) -> list[tuple[Gesture, float]]:
    return [(act.gesture, round(act.time, 3)) for act in acts]


def test_a_press_acts_at_once_where_nothing_else_is_bound() -> None:
    """A key without a hold or double tap acts on the press itself, not on its release."""
    reader = SwitchReader(TIMING)
    assert reader.feed(KeyEvent("f13", KeyChange.PRESS, 1.0)) == [Act("f13", Gesture.TAP, 1.0)]


def test_contact_bounce_is_one_press() -> None:
    """Contacts that open and close within the debounce time make one tap, at either edge."""
    bounce = [(1.000, 1), (1.004, 0), (1.007, 1), (1.300, 0), (1.303, 1), (1.310, 0)]
    acts = _play(SwitchReader(TIMING), *((KeyChange(value), time) for time, value in bounce))
    assert _gestures(acts) == [(Gesture.TAP, 1.0)]


def test_a_worn_contact_that_fails_for_a_moment_is_still_down() -> None:
    """A contact that opens for 30 ms in the middle of a press does not confirm a second end."""
    acts = _play(SwitchReader(TIMING), *_tap(1.0, 1.0), *_tap(2.03, 0.5))
    assert _gestures(acts) == [(Gesture.TAP, 1.0)]


def test_a_tap_shorter_than_the_debounce_time_ends() -> None:
    """A very short tap is seen to end once the contacts have settled, so the next one counts."""
    acts = _play(SwitchReader(TIMING), *_tap(1.0, 0.01), *_tap(2.0, 0.01))
    assert _gestures(acts) == [(Gesture.TAP, 1.0), (Gesture.TAP, 2.0)]


def test_hold_is_told_while_the_key_is_still_down() -> None:
    """With a hold bound, 0.7 s down is a hold and nothing comes on release."""
    reader = SwitchReader(TIMING, hold_keys=["f13"])
    assert reader.feed(KeyEvent("f13", KeyChange.PRESS, 1.0)) == []
    assert math.isclose(reader.deadline(), 1.7)
    assert reader.tick(1.69) == []
    assert reader.tick(1.71) == [Act("f13", Gesture.HOLD, 1.0)]
    assert reader.feed(KeyEvent("f13", KeyChange.RELEASE, 2.0)) == []


def test_a_short_press_of_a_key_with_a_hold_is_a_tap_on_release() -> None:
    """With a hold bound, a key let go early is a tap."""
    acts = _play(SwitchReader(TIMING, hold_keys=["f13"]), *_tap(1.0, 0.3))
    assert _gestures(acts) == [(Gesture.TAP, 1.0)]


def test_bounce_at_the_start_of_a_hold_does_not_make_it_a_tap() -> None:
    """The first contact bouncing open must not turn a hold into a tap."""
    acts = _play(
        SwitchReader(TIMING, hold_keys=["f13"]),
        (KeyChange.PRESS, 1.0),
        (KeyChange.RELEASE, 1.002),
        (KeyChange.PRESS, 1.005),
        (KeyChange.RELEASE, 3.0),
    )
    assert _gestures(acts) == [(Gesture.HOLD, 1.0)]


def test_double_tap_is_not_also_two_taps() -> None:
    """Two presses inside the window are one double tap and nothing else."""
    acts = _play(SwitchReader(TIMING, double_keys=["f13"]), *_tap(1.0), *_tap(1.3))
    assert _gestures(acts) == [(Gesture.DOUBLE, 1.3)]


def test_a_single_tap_waits_for_the_double_window() -> None:
    """With a double tap bound, a single tap comes when the window closes."""
    reader = SwitchReader(TIMING, double_keys=["f13"])
    reader.feed(KeyEvent("f13", KeyChange.PRESS, 1.0))
    reader.feed(KeyEvent("f13", KeyChange.RELEASE, 1.1))
    assert reader.tick(1.39) == []
    assert reader.tick(1.41) == [Act("f13", Gesture.TAP, 1.0)]


@pytest.mark.parametrize(
    ("events", "expected"),
    [
        (_tap(1.0), [(Gesture.TAP, 1.0)]),
        (_tap(1.0, 0.5), [(Gesture.TAP, 1.0)]),
        (_tap(1.0, 0.9), [(Gesture.HOLD, 1.0)]),
        ([*_tap(1.0), *_tap(1.3)], [(Gesture.DOUBLE, 1.3)]),
        ([*_tap(1.0), *_tap(1.3), *_tap(1.5)], [(Gesture.DOUBLE, 1.3), (Gesture.TAP, 1.5)]),
        ([*_tap(1.0), *_tap(2.0)], [(Gesture.TAP, 1.0), (Gesture.TAP, 2.0)]),
    ],
)
def test_one_switch_gives_three_commands(
    events: list[tuple[KeyChange, float]], expected: list[tuple[Gesture, float]]
) -> None:
    """A weaver with one switch has tap, hold and double tap, each exactly once."""
    reader = SwitchReader(TIMING, hold_keys=["f13"], double_keys=["f13"])
    assert _gestures(_play(reader, *events)) == expected


def test_kernel_repeats_of_a_held_key_are_ignored() -> None:
    """The kernel's repeat events of a held pedal confirm nothing more."""
    repeats = [(KeyChange.REPEAT, 1.25 + n * 0.033) for n in range(60)]
    acts = _play(SwitchReader(TIMING), (KeyChange.PRESS, 1.0), *repeats, (KeyChange.RELEASE, 4.0))
    assert _gestures(acts) == [(Gesture.TAP, 1.0)]


def test_a_stuck_pedal_is_reported_once() -> None:
    """A pedal down for ten seconds is reported and gives no further command."""
    acts = _play(SwitchReader(TIMING), (KeyChange.PRESS, 1.0), until=500.0)
    assert _gestures(acts) == [(Gesture.TAP, 1.0), (Gesture.STUCK, 1.0)]


def test_a_pedal_down_before_we_listened_is_only_reported() -> None:
    """Repeats of a key that was never seen to go down act on nothing; it is stuck at last."""
    acts = _play(SwitchReader(TIMING), (KeyChange.REPEAT, 1.0), (KeyChange.REPEAT, 1.03))
    assert _gestures(acts) == [(Gesture.STUCK, 1.0)]


def test_keys_forgotten_act_no_more() -> None:
    """After a pedal has vanished, what it had begun is dropped."""
    reader = SwitchReader(TIMING, hold_keys=["f13"])
    reader.feed(KeyEvent("f13", KeyChange.PRESS, 1.0))
    reader.forget()
    assert (reader.tick(100.0), reader.deadline()) == ([], math.inf)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.booleans(), st.floats(0.001, 2.0)), max_size=40),
    st.sampled_from([[], ["f13"]]),
    st.sampled_from([[], ["f13"]]),
)
def test_no_more_gestures_than_presses(
    steps: list[tuple[bool, float]], hold_keys: list[str], double_keys: list[str]
) -> None:
    """Whatever a switch does, there are never more gestures than times it went down."""
    events, now = [], 0.0
    for is_down, wait in steps:
        now += wait
        events.append((KeyChange.PRESS if is_down else KeyChange.RELEASE, now))
    reader = SwitchReader(TIMING, hold_keys, double_keys)
    acts = [act for act in _play(reader, *events, until=500.0) if act.gesture is not Gesture.STUCK]
    assert len(acts) <= sum(change is KeyChange.PRESS for change, _ in events)
    assert all(act.time <= now for act in acts)


def test_a_typed_press_after_a_rest_acts_at_once() -> None:
    """On a terminal the usual press, seconds after the last, is not delayed."""
    reader = TypedReader(TIMING)
    assert reader.feed(KeyEvent("f13", KeyChange.PRESS, 1.0)) == [Act("f13", Gesture.TAP, 1.0)]
    assert reader.feed(KeyEvent("f13", KeyChange.PRESS, 4.0)) == [Act("f13", Gesture.TAP, 4.0)]


def test_a_quick_typed_press_counts_after_a_moment() -> None:
    """A second press within the keyboard's repeat delay counts once no repeats have followed."""
    reader = TypedReader(TIMING)
    reader.feed(KeyEvent("f13", KeyChange.PRESS, 1.0))
    assert reader.feed(KeyEvent("f13", KeyChange.PRESS, 1.6)) == []
    assert reader.tick(1.71) == []
    assert reader.tick(1.73) == [Act("f13", Gesture.TAP, 1.6)]


@settings(deadline=None)
@given(
    delay=st.floats(0.15, 1.19),
    spacing=st.floats(0.02, 0.119),
    jitter=st.lists(st.floats(0.0, 0.18), min_size=1, max_size=20),
    seconds=st.floats(0.0, 20.0),
)
def test_a_held_key_never_confirms_twice(
    delay: float, spacing: float, jitter: list[float], seconds: float
) -> None:
    """Any keyboard's repeats of a held key, even stuttering, are one press.

    The spread covers the usual settings: X11 repeats after 660 ms and Linux consoles after 250 ms
    (from memory; the last repeat may still come late). Only the very first repeat must be
    followed by another in time, so it does not stutter here.
    """
    times, now = [1.0, 1.0 + delay], 1.0 + delay
    while now < 1.0 + delay + seconds:
        now += spacing
        times.append(now)
    times += [now + spacing]
    late = [jitter[n % len(jitter)] if 2 < n < len(times) - 1 else 0.0 for n in range(len(times))]
    heard = sorted(time + wait for time, wait in zip(times, late, strict=True))
    acts = _play(TypedReader(TIMING), *((KeyChange.PRESS, time) for time in heard))
    assert [act.time for act in acts if act.gesture is Gesture.TAP] == [1.0]
    assert len(acts) == (2 if seconds > TIMING.stuck_seconds + 0.5 else len(acts))


def test_keys_that_arrive_in_a_heap_are_one_press() -> None:
    """Presses that pile up while the machine is busy must not confirm several ends."""
    acts = _play(TypedReader(TIMING), *[(KeyChange.PRESS, 5.0)] * 8)
    assert _gestures(acts) == [(Gesture.TAP, 5.0)]


def test_dead_time_refuses_the_same_action_only() -> None:
    """The same action is refused for the dead time after it acted; another one is not."""
    tempo = Tempo(0.3)
    accepted = [
        tempo.accepts(time, name)
        for time, name in [(1.0, "done"), (1.1, "back"), (1.29, "done"), (1.31, "done")]
    ]
    assert accepted == [True, True, False, True]


def test_refused_presses_do_not_lengthen_the_dead_time() -> None:
    """Dead time runs from the press that acted, so drumming on the pedal still gets through."""
    tempo = Tempo(0.5)
    times = [n * 0.2 for n in range(10)]
    assert [time for time in times if tempo.accepts(time, "done")] == pytest.approx(
        [0.0, 0.6, 1.2, 1.8]
    )
