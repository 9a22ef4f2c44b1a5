"""Machines that walk, carry and bring one session, beside a plain account of what each must hold.

An account is the row of words a copy was given, one letter each. Its rules know nothing of files:
what is brought either begins with what is here, or is the beginning of it, or neither.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from companion.record import Entry, EntryKind, Journal, sessions
from companion.record.carry import Arrival, bring, pack

if TYPE_CHECKING:
    from pathlib import Path

    from companion.record.carry import Brought

STAGE = "thread"


def walk(path: Path, words: str, weaver: str = "Ana") -> None:
    """Give a session one command for each letter."""
    with Journal.open(path) as journal:
        last = journal.last_entry()
        position = last.position if last else 0
        for number, letter in enumerate(words, start=position + 1):
            journal.append(
                Entry(
                    kind=EntryKind.COMMAND,
                    stage=STAGE,
                    source="key",
                    words=letter,
                    state=f'{{"at": {number}}}',
                    position=number,
                    total=1000,
                    weaver=weaver,
                )
            )


def account(path: Path) -> str:
    """Return the words a session holds, in order."""
    with Journal.open(path, read_only=True) as journal:
        return "".join(entry.words for entry in journal.entries())


def accounts(folder: Path) -> list[str]:
    """Return the words of every session in a folder."""
    assert [each.fault for each in sessions(folder) if each.fault] == []
    return sorted(account(each.path) for each in sessions(folder))


class Held(NamedTuple):
    """What a machine must hold after bringing, and what it must say."""

    words: list[str]
    outcome: Arrival


def foreseen(here: list[str], brought: str, *, keep_both: bool) -> Held:
    """Return what must come of bringing one account to a machine that holds others of it."""
    if any(mine.startswith(brought) for mine in here):
        return Held(here, Arrival.NOTHING_NEW)
    behind = [mine for mine in here if brought.startswith(mine)]
    if behind:
        longest = max(behind, key=len)
        others = list(here)
        others.remove(longest)
        return Held(sorted([*others, brought]), Arrival.MOVED_ON)
    if not here:
        return Held([brought], Arrival.ADDED)
    if keep_both:
        return Held(sorted([*here, brought]), Arrival.KEPT_BOTH)
    return Held(here, Arrival.PARTED)


def carried(path: Path, to: Path, folder: Path, *, keep_both: bool = False) -> Brought:
    """Pack a session into a file and bring it to a folder."""
    to.unlink(missing_ok=True)
    pack(path, to)
    return bring(to, folder, keep_both=keep_both)
