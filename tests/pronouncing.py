"""How phrases are pronounced: from the dictionary of the pocketsphinx package, or espeak-ng."""

from __future__ import annotations

import re
import shutil
import subprocess
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from itertools import islice, product
from pathlib import Path
from typing import TYPE_CHECKING

from companion.base.errors import ModelError

if TYPE_CHECKING:
    from collections.abc import Sequence

Sounds = tuple[str, ...]
_MOST_WAYS = 8
_NOT_A_SOUND = re.compile(r"[ˈˌː\u0303\u0361\u0329\u032f\u02b0.ʲ\s-]")


@cache
def english_dictionary() -> dict[str, tuple[Sounds, ...]]:
    """Return the ways each English word is said, in ARPAbet without stress.

    Source: the CMU Pronouncing Dictionary as packaged with pocketsphinx.

    Raises:
        ModelError: if that package is missing.
    """
    if find_spec("pocketsphinx") is None:
        raise ModelError("The package pocketsphinx is missing; install companion[hearing].")
    path = Path(import_module("pocketsphinx").get_model_path()) / "en-us" / "cmudict-en-us.dict"
    found: dict[str, list[Sounds]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        word, *sounds = line.split()
        found.setdefault(word.partition("(")[0], []).append(tuple(sounds))
    return {word: tuple(ways) for word, ways in found.items()}


def english(phrase: str) -> list[Sounds]:
    """Return the ways an English phrase may be said; none if a word is not in the dictionary."""
    ways = [english_dictionary().get(word, ()) for word in phrase.split()]
    return [sum(choice, ()) for choice in islice(product(*ways), _MOST_WAYS)]


def by_rule(phrase: str, language: str) -> list[Sounds]:
    """Return how espeak-ng says a phrase, as one IPA symbol a sound; none where it is missing."""
    said = by_rule_each([phrase], language) if shutil.which("espeak-ng") else []
    return [sounds for sounds in said if sounds]


def by_rule_each(phrases: Sequence[str], language: str) -> list[Sounds]:
    """Return how espeak-ng says each phrase, by one call for all: it is slow to start."""
    command = ["espeak-ng", "-q", "--ipa", "-v", language]
    given = "\n".join(phrases)
    said = subprocess.run(
        command, input=given, capture_output=True, text=True, timeout=600, check=True
    )
    return [tuple(_NOT_A_SOUND.sub("", line)) for line in said.stdout.splitlines()]


def pronounce_each(phrases: Sequence[str], language: str) -> dict[str, list[Sounds]]:
    """Return the ways each phrase may be said in a language ("en", "de", ...)."""
    if language == "en":
        return {phrase: english(phrase) for phrase in phrases}
    said = by_rule_each(phrases, language) if shutil.which("espeak-ng") else []
    found = dict(zip(phrases, said, strict=True)) if said else {}
    return {phrase: [found[phrase]] if found.get(phrase) else [] for phrase in phrases}
