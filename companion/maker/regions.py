"""Regions of the reed as a person gives them: "28 at 1, 12 at 4, 5 empty, repeated 4 times"."""

import re
from collections.abc import Iterator, Sequence
from typing import Any, Final

from companion.base.numerals import read_numbers
from companion.base.text import counted
from companion.maker.question import Answers, unfit

Part = dict[str, Any]
"""A part of the reed, as the plan file has it."""
_DENTS: Final = r"(?:ends?\s*)?(?:in|to|at|per)?\s*(?:each|every|an?|one|the|per)?\s*(?:dents?)?"
_WORD: Final = r"(?:(?:crammed|spaced)\s+)?"
_ENDS: Final = re.compile(
    rf"(?P<all>\d{{1,7}})(?:\s*ends?)?|{_WORD}(?P<ends>\d{{1,7}})(?:\s*ends?)?\s*{_WORD}"
    rf"(?:at|with|by|,)?\s*(?P<sley>\d+(?:-\d+)*)\s*{_DENTS}"
)
_EMPTY: Final = re.compile(
    r"(?:leave|skip|miss)\s+(?P<skip>\d{1,7})(?:\s*empty)?(?:\s*dents?)?(?:\s*empty)?"
    r"|(?P<empty>\d{1,7})\s*(?:empty\s+dents?|(?:dents?\s*)?(?:left\s+)?empty)"
)
_KEYS: Final = {"all": "ends", "ends": "ends", "sley": "sley", "empty": "empty", "skip": "empty"}
_AGAIN: Final = re.compile(
    r"repeat\w*(?:\s+(?P<times>[1-9]\d{0,6})(?:\s+times)?)?|(?P<often>[1-9]\d{0,6})\s+times"
)
_SHAPE: Final = "Write it as in 28 at 1, 12 at 4, 5 empty, repeated 4 times"


def regions(answer: str, answers: Answers) -> list[Part]:
    """Read ends with their order in the dents, dents left empty, and how often it is repeated."""
    parts: list[Part] = []
    since: list[Part] = []
    for said in _pieces(answer):
        again = _AGAIN.fullmatch(said)
        if again is None:
            since.append(_part(said))
            continue
        if not since:
            raise unfit("regions before how often they are repeated", said, _SHAPE)
        times = int(again["times"] or again["often"] or 0)
        parts += repeated(since, times or _as_often_as_fits(since, parts, answers))
        since = []
    parts += since
    if not any(map(_ends, parts)):
        raise _unclear(answer)
    return parts if since else list(_ended(parts))


def regions_told(parts: Sequence[Part]) -> str:
    """Return what was understood, "4 times (12 ends 3 in each dent, 5 dents empty)"."""
    return ", ".join(_told(parts))


def _told(parts: Sequence[Part]) -> Iterator[str]:
    for part in parts:
        if "parts" in part:
            yield f"{part['times']} times ({', '.join(_told(part['parts']))})"
        elif "empty" in part:
            yield f"{counted(part['empty'], 'dent')} empty"
        else:
            yield f"{counted(part['ends'], 'end')} {_in_dents(part.get('sley'))}"


def _in_dents(sley: str | None) -> str:
    if sley is None:
        return "at the sett"
    return f"{sley} in {'the dents, over and over' if '-' in sley else 'each dent'}"


def _pieces(answer: str) -> Iterator[str]:
    """Yield what is told of each region, numbers in digits, "over and over" as "repeated"."""
    said = re.sub(
        r"over and over|again and again|all across|throughout", "repeated", answer.lower()
    )
    said = re.sub(r"\btwice\b", "2 times", said)
    said = re.sub(r"[a-z]+", _in_digits, said)
    said = re.sub(r"\s*\brepeat", ", repeat", said)
    for piece in re.split(r"[,;]|\band\b|\bthen\b", said):
        if piece.strip():
            yield " ".join(piece.split())


def _in_digits(word: re.Match[str]) -> str:
    number = read_numbers(word[0], "en")
    return str(number[0]) if number else word[0]


def _part(said: str) -> Part:
    found = _EMPTY.fullmatch(said) or _ENDS.fullmatch(said)
    given = {key: value for key, value in found.groupdict().items() if value} if found else {}
    if not given or "0" in given.values():
        raise _unclear(said)
    return {_KEYS[key]: value if key == "sley" else int(value) for key, value in given.items()}


def _unclear(said: str) -> Exception:
    expected = "ends and how many go in each dent, or dents left empty, for each region"
    return unfit(expected, said, _SHAPE)


def _ends(part: Part) -> int:
    inner = sum(map(_ends, part.get("parts", ())))
    ends: int = part.get("ends", inner) * part.get("times", 1)
    return ends


def _as_often_as_fits(since: Sequence[Part], before: Sequence[Part], answers: Answers) -> int:
    """Return how often regions go into the warp; what does not come out even is asked."""
    once, spent = sum(map(_ends, since)), sum(map(_ends, before))
    if "ends" not in answers:
        raise unfit("how often they are repeated", "repeated", _SHAPE)
    ends = int(answers["ends"])
    times, over = divmod(ends - spent, once) if once else (0, 0)
    if times < 1 or over:
        came = f"{times} times {once} and {over} over" if times > 0 else f"{spent + once}"
        expected = f"regions that come to the {counted(ends, 'end')} of the warp"
        raise unfit(expected, came, "Say how often, and what comes after: repeated 4 times, 4 at 1")
    return times


def repeated(parts: list[Part], times: int) -> list[Part]:
    """Return parts as often as they are wanted, which may be not at all."""
    return [{"parts": parts, "times": times}] if times > 1 else parts * times


def _ended(parts: Sequence[Part]) -> Iterator[Part]:
    """Yield parts that end in a repeat; dents left empty part its passes, and end no warp."""
    *before, last = parts
    yield from before
    once = list(last.get("parts", ()))
    if not once or "ends" in once[-1]:
        yield last
        return
    yield from repeated(list(once), last["times"] - 1)
    while "empty" in once[-1]:
        once.pop()
    yield from once
