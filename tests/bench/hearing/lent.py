"""Spanish by festival's voices for Italian and Catalan: Debian has none for Spanish itself.

Each word is given as phones, not as letters, so that what is said is Spanish, in the accent of
another country. Sounds that neither language has (the last of "reloj") become the nearest.
"""

# ruff: noqa: RUF001 - the signs of the IPA

from __future__ import annotations

import re
from typing import Final

import neural

ITALIAN: Final = ("lp_diphone", "pc_diphone")
_UNHURRIED: Final = 1.5
"""How much longer the Italian ones are made: they say a word alone faster than anybody would."""
_COMMON: Final = {
    "β": "b",
    "ð": "d",
    "ɣ": "g",
    "ɾ": "r",
    "ɡ": "g",
    "ŋ": "n",
    "ɲ": "J",
    "x": "k",
    "ɛ": "E",
    "ɔ": "O",
}
_ITALIAN: Final = {**_COMMON, "ʧ": "tS", "ʝ": "j", "ɪ": "i", "ʊ": "u", "θ": "s", "ʎ": "L"}
_CATALAN: Final = {**_COMMON, "ʧ": "t S", "ʝ": "L", "ɪ": "j", "ʊ": "w", "r": "rr", "θ": "s"}
_STRESS: Final = "ˈ"
_LENGTHS: Final = re.compile("[ˌː]")
_SYLLABLE: Final = re.compile(
    r"(?:[pbtdkgfβðɣɡ][lrɾ]|ʧ|[^aeiouɛɔɪʊˈ])?[jw]?ˈ?[aeiouɛɔ][ɪʊ]?"
    r"(?:[^aeiouɛɔˈ](?![jw]*ˈ?[aeiouɛɔ])(?![lrɾ]ˈ?[aeiouɛɔ]))*"
)
"""A vowel with one sound before it, or two that go together, and what no vowel follows; the stress
stands right before the vowel."""


def program(voice: str, text: str, stretch: float) -> str:
    """Return what makes festival say a Spanish text with a voice; {out} stands for the file."""
    entries, names = [], []
    for number, word in enumerate(neural.spanish(text).split()):
        name = "qa" + chr(ord("a") + number)
        entries.append(f'(lex.add.entry \'("{name}" nil ({_syllables(word, voice)})))')
        names.append(name)
    slower = f"(Parameter.set 'Duration_Stretch {_UNHURRIED * stretch:.3f})"
    if voice not in ITALIAN:
        rate = f'(list (list "-r" {1 / stretch:.3f}))'
        slower = f"(set! hts_engine_params (append hts_engine_params {rate}))"
    return (
        f"(begin (voice_{voice}) {' '.join(entries)} {slower} "
        f'(utt.save.wave (utt.synth (Utterance Text "{" ".join(names)}")) "{{out}}" \'riff))'
    )


def _syllables(word: str, voice: str) -> str:
    """Return a word's IPA as festival's syllables: (((l i1 s) 1) ((t o) 0))."""
    table = _ITALIAN if voice in ITALIAN else _CATALAN
    every = (found[0] for found in _SYLLABLE.finditer(_LENGTHS.sub("", word)))
    return " ".join(f"(({_phones(one, table)}) {int(_STRESS in one)})" for one in every)


def _phones(syllable: str, table: dict[str, str]) -> str:
    before = ("", *syllable[:-1])
    return " ".join(
        table.get(sound, sound) + ("1" if last == _STRESS else "")
        for last, sound in zip(before, syllable, strict=True)
        if sound != _STRESS
    )
