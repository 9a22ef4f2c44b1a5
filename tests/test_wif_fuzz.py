"""Whatever bytes come as a WIF file, the answer is a sound draft or one clear report."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.base.errors import WHOLE_FILE, PlanError
from companion.plan.values import MAX_ENDS
from companion.plan.wif.reader import WifReading, read_wif
from companion.plan.wif.sections import decode

WIF = Path(__file__).parent / "data" / "wif"
SAMPLES = [path.read_bytes() for path in sorted(WIF.glob("*.wif"))]

numbers = st.one_of(
    st.integers(-2, 9).map(str),
    st.sampled_from(["", "1.0", "1.5", "x", "1,2", "3, ,", "9" * 30, "1000001", "0,255", "-"]),
)
sections = st.sampled_from(
    ["WIF", "CONTENTS", "WEAVING", "WARP", "TEXT", "THREADING", "TIEUP", "TREADLING", "LIFTPLAN",
     "COLOR PALETTE", "COLOR TABLE", "WARP COLORS", "NOTES", "", "["]
)  # fmt: skip
keys = st.one_of(
    numbers, st.sampled_from(["Threads", "Color", "Range", "Rising Shed", "Profile", "Title", ";"])
)
lines = st.one_of(
    st.builds("[{}]".format, sections),
    st.builds("{}={}".format, keys, numbers),
    st.text(max_size=8),
)


def outcome(data: bytes) -> WifReading | PlanError:
    try:
        return read_wif(
            decode(data, "a.wif"), name="a.wif", first_end="right", draft_first_end="left"
        )
    except PlanError as error:
        return error


def check(data: bytes) -> None:
    found = outcome(data)
    if isinstance(found, WifReading):
        check_sound(found)
    else:
        is_of_file = [each.place for each in found.problems] == [WHOLE_FILE]
        assert len(str(found).splitlines()) == len(found.problems) + (not is_of_file) >= 1


def check_sound(found: WifReading) -> None:
    draft = found.draft
    assert 1 <= len(draft.shafts) <= MAX_ENDS
    assert len(draft.colours) == len(draft.shafts)
    assert all(1 <= shaft <= 64 for shaft in draft.shafts)
    assert draft.units[0].first == 1
    assert draft.units[-1].last == len(draft.shafts)
    assert all(1 <= treadle <= len(draft.treadles) for pick in draft.picks for treadle in pick)
    assert all(1 <= shaft <= 64 for lift in (*draft.lifts, *draft.treadles) for shaft in lift)


@settings(deadline=None)
@given(st.binary(max_size=2_000))
def test_any_bytes(data: bytes) -> None:
    """Noise never ends in anything but a report."""
    check(data)


@settings(deadline=None)
@given(st.lists(lines, max_size=60))
def test_any_lines_of_the_format(written: list[str]) -> None:
    """Nor does a file whose sections and lines are thrown together."""
    check("\n".join(written).encode("utf-8", "replace"))


@settings(deadline=None)
@given(st.sampled_from(SAMPLES), st.data())
def test_damaged_files(sample: bytes, data: st.DataObject) -> None:
    """Nor does a good file with bytes changed, lost and put in."""
    damaged = bytearray(sample)
    places = st.integers(0, len(sample) - 1)
    for place, byte in data.draw(st.lists(st.tuples(places, st.integers(0, 255)), max_size=20)):
        damaged[place] = byte
    start, stop = sorted([data.draw(places), data.draw(places)])
    piece = bytes(damaged[start:stop])
    whole = bytes(damaged)
    check(whole)
    check(whole.replace(piece, b"", 1))
    check(whole + piece)


def test_sparse_numbers_take_no_more_than_they_say() -> None:
    """The highest numbers allowed are read, with what lies between left empty."""
    check(b"[WIF]\n[THREADING]\n1=1\n[TREADLING]\n1000000=1000\n[LIFTPLAN]\n1000000=64\n")
