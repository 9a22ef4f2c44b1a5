"""How well commands are heard without a lesson.

`PYTHONPATH=. python tests/bench/hearing/unseen.py en`, after `train.py`.

The least sureness is chosen on the first half of the unseen speakers, and the figures printed are
of the second half alone. `choose` is called at the end of `train.py`.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import cast
import material
import numpy as np
import recordings
import scenes

from companion.command import parse
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.head import OTHER
from companion.devices.recogniser.taught import from_pcm16, spoken_part
from companion.devices.recogniser.untaught import Evidence, Opinion

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from voices import Voice

CONDITIONS = (
    scenes.Condition("white 30 dB", 30),
    scenes.Condition("people 20 dB", 20, "people"),
    scenes.Condition("people 10 dB", 10, "people"),
    scenes.Condition("room 0.4 s, white 30 dB", 30, "white", 0.4),
    scenes.Condition("music 20 dB", 20, "music"),
    scenes.Condition("knocks 20 dB", 20, "knocks"),
)
LONGEST_BYTES = round((1.6 + 0.26 + 0.25) * 32_000)
_CLEAR = 0.25
"""How far above the surest wrong one the least sureness is set."""


@dataclass(frozen=True, slots=True)
class Trial:
    """One sound and what the two networks make of it."""

    said: str
    evidence: Evidence
    seconds: float
    """From the end of the word to the decision that the sound is over."""


@cache
def embedder() -> SpeechEmbedder:
    """Return the embedder, loaded once."""
    return SpeechEmbedder()


def trials(
    opinion: Opinion, speakers: Sequence[Voice], language: str, condition: scenes.Condition
) -> Iterator[Trial]:
    """Yield what is made of every form said by every speaker under a condition."""
    for voice in speakers:
        said = [(cast.drawn(voice, form), form) for form in material.forms(language)]
        scene = scenes.said(said, condition, seed=11)
        yield from (_tried(opinion, sound) for sound in scene.sounds if sound.said)


def others(opinion: Opinion, packages: Iterable[str]) -> Iterator[Trial]:
    """Yield what is made of recorded speech that is no command."""
    for package in packages:
        for sound in scenes.recorded(package).sounds:
            if len(sound.pcm16) <= LONGEST_BYTES:
                yield _tried(opinion, sound)


def _tried(opinion: Opinion, sound: scenes.Sound) -> Trial:
    samples = spoken_part(from_pcm16(sound.pcm16))
    evidence = opinion.weigh(samples, embedder().embed(samples))
    return Trial(sound.said, evidence, sound.wait_seconds)


def choose(opinion: Opinion, language: str) -> np.ndarray:
    """Return the least totals for forms of one word and of more, from the first halves alone."""
    said = trials(opinion, cast.UNSEEN[language][0], language, CONDITIONS[0])
    wrong = [trial for trial in said if _is_wrong(trial, language)]
    wrong += list(others(opinion, material.FOR_CHOOSING))[::2]
    return np.array([_least(wrong, is_long=is_long) for is_long in (False, True)])


def _least(wrong: list[Trial], *, is_long: bool) -> float:
    """Return a total that all of what is wrong stays under."""
    totals = [t.evidence.total for t in wrong if (" " in t.evidence.form) is is_long]
    return max(totals, default=-3.0) + _CLEAR


def _is_taken(opinion: Opinion, trial: Trial) -> bool:
    return trial.evidence.form != OTHER and opinion.surplus(trial.evidence) >= 0


def _is_wrong(trial: Trial, language: str) -> bool:
    """Whether the likeliest form would give another command than the one said."""
    form = trial.evidence.form
    return form != OTHER and parse(form, language) != parse(trial.said, language)


def main(language: str) -> None:
    """Print the figures of the second half."""
    opinion = Opinion(language)
    speakers = cast.UNSEEN[language][1]
    print(f"{language}: {', '.join(map(str, speakers))}")
    print(f"{'condition':26}{'forms':8}{'said':>6}{'heard %':>9}{'wrong':>7}")
    for condition in CONDITIONS:
        made = list(trials(opinion, speakers, language, condition))
        for is_long in (True, False):
            count = len(speakers) * sum((" " in f) is is_long for f in material.forms(language))
            some = [t for t in made if (" " in t.said) is is_long]
            taken = [t for t in some if _is_taken(opinion, t)]
            wrong = [t for t in taken if _is_wrong(t, language)]
            share = 100 * (len(taken) - len(wrong)) / count
            name = "long" if is_long else "short"
            print(f"{condition.name:26}{name:8}{count:6}{share:9.1f}{len(wrong):7}", flush=True)
            for t in wrong:
                print(f"    {t.said!r} -> {t.evidence.form!r}")
    print_others(opinion)


def print_others(opinion: Opinion) -> None:
    """Print what is taken of the recorded speech that nothing was trained or chosen on."""
    for package in recordings.PACKAGES:
        if package in material.FOR_TRAINING:
            continue
        halves = 2 if package in material.FOR_CHOOSING else 1
        made = list(others(opinion, [package]))[halves - 1 :: halves]
        taken = [t.evidence.form for t in made if _is_taken(opinion, t)]
        hours = scenes.recorded(package).seconds / 3600 / halves
        print(f"{package:34}{hours:6.2f} h{len(made):7}{len(taken):5}", *taken, flush=True)


if __name__ == "__main__":
    main(sys.argv[1])
