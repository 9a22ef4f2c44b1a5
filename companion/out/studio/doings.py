"""What a teacher can have done with looms: those of this server, and of the school's others."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Final

from companion.base.errors import CompanionError
from companion.base.text import capital
from companion.wording import studio as wording

if TYPE_CHECKING:
    from companion.out.studio.studio import Studio

    Doing = Callable[[Studio, Mapping[str, str]], str]

ELSEWHERE: Final = frozenset({"pause", "go on", "hand over", "finish"})
"""What other servers of the school may ask for too."""


def do(studio: Studio, form: Mapping[str, str]) -> str:
    """Do one thing; return a line that tells it, or raise CompanionError.

    The form says `what` to do and with which `loom`; that of another server stands after the
    server's name and a slash.
    """
    what = form.get("what", "")
    doing = _DOINGS.get(what)
    if doing is None:
        raise CompanionError("Expected one of: " + ", ".join(_DOINGS) + ".")
    server, _, loom = form.get("loom", "").rpartition("/")
    if not server or studio.sharing is None:
        return doing(studio, form)
    if what not in ELSEWHERE:
        raise CompanionError(wording.only_there(server))
    return studio.sharing.order(server, {**form, "loom": loom})


def obey(studio: Studio, asked: Mapping[str, str]) -> str:
    """Do what another server asks for with a loom here; tell it, or raise CompanionError."""
    if asked.get("what") not in ELSEWHERE:
        raise CompanionError("Expected one of: " + ", ".join(sorted(ELSEWHERE)) + ".")
    return _DOINGS[asked["what"]](studio, asked)


def _start(studio: Studio, form: Mapping[str, str]) -> str:
    loom = studio.start(
        form.get("name", ""),
        form.get("plan", ""),
        form.get("weaver", ""),
        "whole job" if form.get("part") == "whole job" else "threading",
        is_affirmed=form.get("affirm") == "on",
    )
    return f"{capital(loom.name)} begins."


def _order(words: str, told: str) -> Doing:
    def give(studio: Studio, form: Mapping[str, str]) -> str:
        loom = studio.loom(form.get("loom", ""))
        if not loom.is_walked:
            raise CompanionError(f"Nothing is walked at {loom.name} now.")
        loom.board.order(words)
        return f"{capital(loom.name)}: {told}."

    return give


def _hand_over(studio: Studio, form: Mapping[str, str]) -> str:
    loom = studio.loom(form.get("loom", ""))
    studio.hand_over(loom, form.get("weaver", ""))
    return f"{capital(loom.name)} is handed over to {loom.weaver or 'the next weaver'}."


def _end(studio: Studio, form: Mapping[str, str]) -> str:
    loom = studio.loom(form.get("loom", ""))
    loom.end()
    return f"{capital(loom.name)}: the walk has ended, and its place is kept."


def _remove(studio: Studio, form: Mapping[str, str]) -> str:
    loom = studio.loom(form.get("loom", ""))
    studio.remove(loom)
    return f"{capital(loom.name)} is off the list; its sessions are kept."


def _tell_all(studio: Studio, _form: Mapping[str, str]) -> str:
    told = studio.roll_call()
    studio.desk.say(told, is_trouble=False)
    return told


_DOINGS: Final[dict[str, Doing]] = {
    "start": _start,
    "pause": _order("pause", "resting"),
    "go on": _order("resume", "going on"),
    "hand over": _hand_over,
    "finish": _end,
    "remove": _remove,
    "tell": _tell_all,
}
