"""How far apart spoken forms sound, and which of a table are too close to be told apart.

The distance is the least number of sounds to put in, take out or change (Levenshtein, "Binary
codes capable of correcting deletions, insertions, and reversals", Soviet Physics Doklady 10
(1966) 707-710), where a change between sounds of one kind counts half. The kinds are our own
choice after the usual phonetic classes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Sounds = tuple[str, ...]
"""The sounds of a phrase, ARPAbet without stress marks or IPA, one symbol each."""

LEAST_DISTANCE = 1.5
"""Two commands nearer than this are refused."""
_KINDS = tuple(
    frozenset(kind.split())
    for kind in (
        "AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW",
        "a e i o u y ɐ ɑ ɒ æ ə ɚ ɛ ɜ ɪ ɔ ø œ ʊ ʌ ɯ ɨ ɵ",  # noqa: RUF001 - IPA
        "P B T D K G",
        "p b t d k ɡ g ɾ ʔ",  # noqa: RUF001 - IPA
        "S Z SH ZH F V TH DH HH CH JH",
        "s z ʃ ʒ f v θ ð h ç x ɣ β ɕ ʑ",  # noqa: RUF001 - IPA
        "M N NG",
        "m n ŋ ɲ",
        "L R W Y",
        "l r ɹ ɾ w j ʁ ʎ ɭ",
    )
)


@dataclass(frozen=True, slots=True)
class Clash:
    """Two spoken forms of different commands that sound too much alike."""

    one: str
    other: str
    distance: float

    def __str__(self) -> str:
        return (
            f'"{self.one}" and "{self.other}" differ by {self.distance:g} sounds, '
            f"expected at least {LEAST_DISTANCE:g}; choose another form for one of them"
        )


def distance(one: Sounds, other: Sounds) -> float:
    """Return how many sounds apart two phrases are."""
    row = [float(n) for n in range(len(other) + 1)]
    for sound in one:
        ahead, row[0] = row[0], row[0] + 1.0
        for column, against in enumerate(other, 1):
            changed = ahead + _change(sound, against)
            ahead = row[column]
            row[column] = min(changed, ahead + 1.0, row[column - 1] + 1.0)
    return row[-1]


def clashes(
    forms: Mapping[str, str], sounds: Mapping[str, Sequence[Sounds]], least: float = LEAST_DISTANCE
) -> list[Clash]:
    """Return the pairs of forms of different commands that are too close.

    Args:
        forms: the command each spoken form gives.
        sounds: the ways each form may be said; a form without any is left out.
        least: the smallest distance allowed, in sounds.
    """
    found = []
    names = sorted(form for form in forms if sounds.get(form))
    for index, one in enumerate(names):
        for other in names[index + 1 :]:
            if forms[one] == forms[other]:
                continue
            far = min(distance(a, b) for a in sounds[one] for b in sounds[other])
            if far < least:
                found.append(Clash(one, other, far))
    return found


def _change(one: str, other: str) -> float:
    if one == other:
        return 0.0
    return 0.5 if any(one in kind and other in kind for kind in _KINDS) else 1.0
