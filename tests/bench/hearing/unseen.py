"""How well commands are heard without a lesson.

`PYTHONPATH=.:tests python tests/bench/hearing/unseen.py en`, after `train.py`.

The least sureness is chosen on the first half of the unseen speakers, and the figures printed are
of the second half alone. `choose` is called at the end of `train.py`.
"""

from __future__ import annotations

import hashlib
import math
import sys
import time
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import cast
import material
import numpy as np
import recordings
import scenes
from voices import CACHE

from companion.command import parse
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.head import OTHER
from companion.devices.recogniser.phonemes import PhonemeNetwork
from companion.devices.recogniser.taught import from_pcm16, spoken_part
from companion.devices.recogniser.untaught import Evidence, Opinion

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

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
_USUAL, _CLEAR = {False: 0.99, True: 1.0}, {False: 0.25, True: 1.0}
"""How many of the wrongly taken sounds the least sureness is above, and by how much: for forms of
one word, and for those of more, which can well afford it."""
_CHOSEN_ON, _TRIED_ON = (0, 2), (1, 3)
"""Which of every eight sounds of `material.FOR_CHOOSING` the choice is made on, and the figures."""
_ONE_SIDED = 0.05
SINGLE_WORDS = ("ktuberling-data", "klettres-data", "gcin-voice", "tuxpaint-stamps-default")
"""Packages of words, syllables and letters that stand alone, as talk seldom does."""


@dataclass(frozen=True, slots=True)
class Trial:
    """One sound and what the two networks make of it."""

    said: str
    evidence: Evidence
    seconds: float
    """From the end of the word to the decision that the sound is over."""


def _once(kind: str, samples: np.ndarray, make: Callable[[np.ndarray], np.ndarray]) -> np.ndarray:
    """Return what a network makes of a sound; kept, for neither changes with the weights."""
    path = CACHE / kind / f"{hashlib.sha256(samples.tobytes()).hexdigest()[:24]}.npy"
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        np.save(path, make(samples))
    return np.asarray(np.load(path))


class KeptNetwork(PhonemeNetwork):
    """The phonemes, heard once in each sound."""

    def hear(self, samples: np.ndarray) -> np.ndarray:
        """Return what is heard in a sound."""
        return _once("phonemes", samples, super().hear)


class KeptOpinion(Opinion):
    """An opinion that hears each sound once."""

    def __init__(self, language: str) -> None:
        super().__init__(language)
        self._network = KeptNetwork()


@cache
def embedder() -> SpeechEmbedder:
    """Return the embedder, loaded once."""
    return SpeechEmbedder()


def trials(
    opinion: KeptOpinion, speakers: Sequence[Voice], language: str, condition: scenes.Condition
) -> Iterator[Trial]:
    """Yield what is made of every form said by every speaker under a condition."""
    for voice in speakers:
        said = [(cast.drawn(voice, form), form) for form in material.tried(voice, language)]
        scene = scenes.said(said, condition, seed=11)
        yield from (_tried(opinion, sound) for sound in scene.sounds if sound.said)


def others(opinion: KeptOpinion, packages: Iterable[str], part: Sequence[int]) -> Iterator[Trial]:
    """Yield what is made of recorded speech that is no command.

    Of a package that the least sureness is chosen on, some of every eight sounds alone.
    """
    for package in packages:
        for number, sound in enumerate(scenes.recorded(package).sounds):
            is_due = package not in material.FOR_CHOOSING or number % 8 in part
            if is_due and len(sound.pcm16) <= LONGEST_BYTES:
                yield _tried(opinion, sound)


def _tried(opinion: KeptOpinion, sound: scenes.Sound) -> Trial:
    """Weigh a sound."""
    samples = spoken_part(from_pcm16(sound.pcm16))
    evidence = opinion.weigh(samples, _once("embedded", samples, embedder().embed))
    return Trial(sound.said, evidence, sound.wait_seconds)


def choose(opinion: KeptOpinion, language: str) -> np.ndarray:
    """Return the least total of each form, from what is kept for choosing alone.

    All that was wrongly taken for the form stays under it, and nearly all that was taken for any
    form of one word, or of more: few sounds came near to most of the forms.
    """
    said = trials(opinion, cast.UNSEEN[language][0], language, CONDITIONS[0])
    wrong = [trial.evidence for trial in said if _is_wrong(trial, language)]
    wrong += [t.evidence for t in others(opinion, material.FOR_CHOOSING, _CHOSEN_ON)]
    return np.array([_least(form, wrong) for form in material.forms(language)])


def _least(form: str, wrong: Sequence[Evidence]) -> float:
    is_long = " " in form
    alike = [e.total for e in wrong if e.form != OTHER and (" " in e.form) is is_long]
    own = [e.total for e in wrong if e.form == form]
    return float(max([*own, np.quantile(alike, _USUAL[is_long])]) + _CLEAR[is_long])


def _is_taken(opinion: KeptOpinion, trial: Trial) -> bool:
    return trial.evidence.form != OTHER and opinion.surplus(trial.evidence) >= 0


def _is_wrong(trial: Trial, language: str) -> bool:
    """Whether the likeliest form would give another command than the one said."""
    form = trial.evidence.form
    return form != OTHER and parse(form, language) != parse(trial.said, language)


def main(language: str) -> None:
    """Print the figures of the second half."""
    opinion = KeptOpinion(language)
    speakers = cast.UNSEEN[language][1]
    print(f"{language}: {', '.join(map(str, speakers))}")
    print(f"{'condition':26}{'forms':8}{'said':>6}{'heard %':>9}{'wrong':>7}")
    every = [trial for condition in CONDITIONS for trial in _print(opinion, language, condition)]
    heard = [trial for trial in every if trial.said and _is_taken(opinion, trial)]
    weighing = _weighing_seconds(language)
    late = np.percentile([1000 * (t.seconds + weighing) for t in heard], [50, 95])
    print(f"both networks: {1000 * weighing:.0f} ms of processor time a sound (median)")
    print(f"word end to accepted: median {late[0]:.0f} ms, 95 % within {late[1]:.0f} ms")
    print_others(opinion)


def _weighing_seconds(language: str) -> float:
    """Return the processor time that a sound takes of both networks, when nothing is kept."""
    opinion, ear, every = Opinion(language), SpeechEmbedder(), []
    voice = cast.UNSEEN[language][1][0]
    said = [(cast.drawn(voice, form), form) for form in material.tried(voice, language)]
    for sound in scenes.said(said, CONDITIONS[0], seed=11).sounds:
        begun = time.process_time()
        samples = spoken_part(from_pcm16(sound.pcm16))
        opinion.weigh(samples, ear.embed(samples))
        every.append(time.process_time() - begun)
    return float(np.median(every))


def _print(opinion: KeptOpinion, language: str, condition: scenes.Condition) -> list[Trial]:
    """Print how the speakers of the second half are heard under a condition; return the trials."""
    speakers = cast.UNSEEN[language][1]
    made = list(trials(opinion, speakers, language, condition))
    for is_long in (True, False):
        said = (form for voice in speakers for form in material.tried(voice, language))
        count = sum((" " in form) is is_long for form in said)
        taken = [t for t in made if (" " in t.said) is is_long and _is_taken(opinion, t)]
        wrong = [t for t in taken if _is_wrong(t, language)]
        share = 100 * (len(taken) - len(wrong)) / count
        name = "long" if is_long else "short"
        told = "".join(f"; {t.said!r} taken for {t.evidence.form!r}" for t in wrong)
        print(f"{condition.name:26}{name:8}{count:6}{share:9.1f}{len(wrong):7}{told}", flush=True)
    return made


def print_others(opinion: KeptOpinion) -> None:
    """Print what is taken of the recorded speech that nothing was trained or chosen on."""
    hours, count = dict.fromkeys((False, True), 0.0), dict.fromkeys((False, True), 0)
    for package in recordings.PACKAGES:
        if package in material.FOR_TRAINING:
            continue
        made = list(others(opinion, [package], _TRIED_ON))
        taken = [t.evidence.form for t in made if _is_taken(opinion, t)]
        length = scenes.recorded(package).seconds / 3600
        length *= len(_TRIED_ON) / 8 if package in material.FOR_CHOOSING else 1
        hours[package in SINGLE_WORDS] += length
        count[package in SINGLE_WORDS] += len(taken)
        print(f"{package:34}{length:6.2f} h{len(made):7}{len(taken):5}", *taken, flush=True)
    for is_single, name in ((False, "sentences"), (True, "single words")):
        most = upper_bound(count[is_single]) / hours[is_single]
        print(f"{name}: {count[is_single]} in {hours[is_single]:.2f} h, under {most:.1f} an hour")


def upper_bound(count: int) -> float:
    """Return the mean that so few events would be seen of in one case of twenty (Poisson)."""
    mean = float(count)
    while sum(np.exp(-mean) * mean**k / math.factorial(k) for k in range(count + 1)) > _ONE_SIDED:
        mean += 0.01
    return mean


if __name__ == "__main__":
    main(sys.argv[1])
