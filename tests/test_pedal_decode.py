"""Bytes of a terminal to key names, compared with the system's own terminal database."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.devices.pedal.decode import KeyDecoder

CAPABILITIES = {
    "kcuu1": "up",
    "kcud1": "down",
    "kcub1": "left",
    "kcuf1": "right",
    "kpp": "page up",
    "knp": "page down",
    "khome": "home",
    "kend": "end",
    "kich1": "insert",
    "kdch1": "delete",
    **{f"kf{n}": f"f{n}" for n in range(1, 25)},
}


def _terminfo(terminal: str) -> dict[str, bytes]:
    """Return the ncurses project's own sequences (terminfo.src, as infocmp prints them)."""
    if shutil.which("infocmp") is None:
        pytest.skip("infocmp of ncurses-bin is not installed")
    printed = subprocess.run(["infocmp", "-1", terminal], capture_output=True, check=False)
    if printed.returncode:
        pytest.skip(f"the terminfo database here has no {terminal}")
    pairs = re.findall(rb"\t(k\w+)=(\S+),\n", printed.stdout)
    return {name.decode(): value.replace(rb"\E", b"\x1b") for name, value in pairs}


@pytest.mark.parametrize("terminal", ["xterm", "xterm-256color", "linux", "screen", "tmux", "rxvt"])
def test_keys_agree_with_terminfo(terminal: str) -> None:
    """Every cursor, paging and function key that terminfo lists for a terminal has its name."""
    sequences = _terminfo(terminal)
    listed = {name: sequences[key] for key, name in CAPABILITIES.items() if key in sequences}
    if terminal == "rxvt":  # F21 and above are spelt there as modified keys, which we do not name
        listed = {name: value for name, value in listed.items() if value[-1:] in b"~ABCD"}
    assert len(listed) >= 20
    assert {name: KeyDecoder().feed(sequence) for name, sequence in listed.items()} == {
        name: [name] for name in listed
    }


def test_characters_and_controls_have_names() -> None:
    """Letters, accents, space, Enter, backspace and control characters are named."""
    assert KeyDecoder().feed("dé \r\n\x7f\t\x04".encode()) == [
        "d",
        "é",
        "space",
        "enter",
        "enter",
        "backspace",
        "tab",
        "ctrl d",
    ]


@pytest.mark.parametrize(
    ("sequence", "name"),
    [
        (b"\x1b[5;2~", "shift page up"),
        (b"\x1b[1;5C", "ctrl right"),
        (b"\x1b[1;2P", "f13"),
        (b"\x1b[57376u", "f13"),
        (b"\x1b[57387u", "f24"),
        (b"\x1b[97u", "a"),
        (b"\x1b[200~", "unknown"),
        (b"\x1b[<0;10;10M", "unknown"),
        (b"\x1b[0u", "unknown"),
    ],
)
def test_modified_and_unknown_sequences(sequence: bytes, name: str) -> None:
    """Modifiers are named, and a sequence that is no key of ours is one unknown key."""
    assert KeyDecoder().feed(sequence) == [name]


def test_escape_alone_waits_for_a_moment() -> None:
    """A lone escape character is the Escape key only once nothing has followed."""
    decoder = KeyDecoder()
    assert (decoder.feed(b"\x1b"), decoder.is_waiting) == ([], True)
    assert (decoder.flush(), decoder.is_waiting) == (["escape"], False)


@settings(deadline=None)
@given(st.lists(st.sampled_from(["d", "é", "완", "\x1b[6~", "\x1bOP", "\x1b[25~", " "])), st.data())
def test_where_bytes_are_cut_does_not_matter(pieces: list[str], data: st.DataObject) -> None:
    """The same keys come out wherever the terminal cuts its bytes."""
    whole = "".join(pieces).encode()
    cut = data.draw(st.integers(0, len(whole)))
    decoder = KeyDecoder()
    assert decoder.feed(whole[:cut]) + decoder.feed(whole[cut:]) == KeyDecoder().feed(whole)


@settings(deadline=None)
@given(st.binary(max_size=60))
def test_any_bytes_are_taken(noise: bytes) -> None:
    """Noise on the line never raises, and every key has a name."""
    decoder = KeyDecoder()
    assert all(decoder.feed(noise) + decoder.flush() or [True])
