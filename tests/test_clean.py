"""Text from outside reaches nothing that would obey it."""

from __future__ import annotations

import json
import unicodedata
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.base.clean import cell, clean_json, clean_line, clean_text, clean_tree
from companion.base.local_time import lately, local

BIDI = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""Every explicit directional formatting character (Unicode Standard Annex 9, tables in 2.1-2.6)."""


@pytest.mark.parametrize(
    ("text", "clean"),
    [
        # ECMA-48, 5th edition: 8.3.16 CHA and its like begin with CSI, 5.6 are command strings.
        ("\x1b[2J\x1b[31mred\x1b[0m", "red"),
        ("\x9b31mred", "red"),
        ("\x1b]0;title\x07towels", "towels"),
        ("\x1b]8;;http://x\x1b\\towels\x1b]8;;\x1b\\", "towels"),
        ("\x1bcall gone", "call gone"),
        ("one\r\ntwo\x0bthree\u2028four", "one two three four"),
        ("a\0b\x7fc\x08d", "abcd"),
        ("abc\u202edef\u2066", "abcdef"),
        ("\ufeffhandt\u00fccher \U000e0041", "handt\u00fccher"),
        ("broken \udcff", "broken ?"),
        ("  spaces  ", "spaces"),
        ("\u0645\u06cc\u200c\u062e\u0648\u0645", "\u0645\u06cc\u200c\u062e\u0648\u0645"),
        ("행주, 手ぬぐい, 🧵👩\u200d🌾", "행주, 手ぬぐい, 🧵👩\u200d🌾"),
    ],
)  # fmt: skip
def test_what_a_terminal_would_obey_goes(text: str, clean: str) -> None:
    """Controls, sequences and turns of direction go; letters of any script stay, joiners too."""
    assert clean_line(text) == clean


@given(st.text())
def test_no_text_keeps_anything_that_acts(text: str) -> None:
    """Whatever comes: no control character, no direction character, and cleaning twice is once."""
    line = clean_line(text)
    assert not [mark for mark in line if unicodedata.category(mark) in ("Cc", "Cs", "Zl", "Zp")]
    assert not set(line) & set(BIDI)
    assert clean_line(line) == line
    assert set(clean_text(text)) - set(line) <= set(" \t\n\r\v\f\x85\u2028\u2029\u00a0") | set(text)


VALUES = st.recursive(
    st.text() | st.integers() | st.none(),
    lambda each: st.lists(each) | st.dictionaries(st.text(), each),
)


@given(VALUES)
def test_json_hides_nothing_in_its_escapes(value: object) -> None:
    """Escaped or not, the texts come out as if they had been cleaned before."""
    for is_ascii in (True, False):
        text = json.dumps(value, ensure_ascii=is_ascii)
        assert json.loads(clean_json(text)) == clean_tree(json.loads(text))


def test_json_that_is_none_is_told() -> None:
    """What cannot be read is an error of value, however deep it goes."""
    for text in ('"\x1b', "[" * 100_000 + "\\n"):
        with pytest.raises(ValueError, match=r"."):
            clean_json(text)


def test_a_cell_is_no_formula() -> None:
    """OWASP, "CSV Injection": cells that begin with = + - @ are shown as text."""
    assert [cell(text) for text in ("=1", " +1", "-1", "@A", "1=1", "")] == [
        "'=1", "' +1", "'-1", "'@A", "1=1", "",
    ]  # fmt: skip


def test_recorded_times_are_told_in_local_time() -> None:
    """The tests run 5 h 45 min ahead of UTC; what is no time stays as it is."""
    assert local("2026-03-05T20:20:30.123+00:00") == "2026-03-06 02:05"
    assert local("2026-03-05T20:20:30.123+00:00", "seconds") == "2026-03-06 02:05:30"
    assert local("2026-03-05T20:20:30.123+00:00", "offset") == "2026-03-06T02:05:30.123+05:45"
    assert local("9999-12-31T23:59:59+00:00") == "9999-12-31T23:59:59+00:00"
    assert local("noon") == "noon"
    assert lately("2026-03-05T20:20:30+00:00") == "2026-03-06 02:05"
    now = datetime.now().astimezone()
    assert lately(now.isoformat()) == f"{now:%H:%M} today"
