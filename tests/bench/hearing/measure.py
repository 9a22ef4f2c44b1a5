"""Measure a recogniser through the real chain and print its table.

Fetch the recorded speech once with `recordings.py`, then
`PYTHONPATH=.:tests python tests/bench/hearing/measure.py taught` or another name of `SUBJECTS`, or
`repeats`; with `commands` or `others` after it only that half is done. Synthetic voices and
recorded speech only; nobody has been tried at a loom.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import material
import numpy as np
import scenes
import subjects
import unseen

from companion.command import parse

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from scenes import Sound

    from companion.devices.recogniser.interface import Recogniser, Vocabulary

LONGEST_COMMAND_BYTES = round((1.6 + 0.26 + 0.25) * 32_000)
"""A cut sound holds its lead and the silence that ended it."""

MOST_SOUNDS = 400
"""Of a longer recording every second, third ... sound is tried, and its hours count by as much."""


@dataclass(slots=True)
class Tally:
    """What became of the sounds of one condition."""

    said: int = 0
    outcomes: Counter[str] = field(default_factory=Counter)
    confusions: Counter[tuple[str, str]] = field(default_factory=Counter)
    waits: list[float] = field(default_factory=list)
    cpu_seconds: float = 0.0
    sound_seconds: float = 0.0

    def add(self, sound: Sound, words: str, finish_seconds: float, language: str) -> None:
        """Count one sound and what was made of it; another form of the same command is a hit."""
        is_hit = words and parse(words, language) == parse(sound.said, language)
        outcome = "hit" if is_hit else "wrong" if words else "refused"
        self.outcomes[outcome] += 1
        if outcome != "hit":
            self.confusions[sound.said, words] += 1
        else:
            self.waits.append(sound.wait_seconds + finish_seconds)

    def line(self, name: str) -> str:
        """Return the row of the table."""
        lost = self.said - sum(self.outcomes.values())
        figures = [self.outcomes["hit"], self.outcomes["wrong"], self.outcomes["refused"], lost]
        shares = "".join(f"{100 * n / max(self.said, 1):8.2f}" for n in figures)
        p50, p95 = np.percentile(self.waits or [0], [50, 95]) * 1000
        share = self.cpu_seconds / max(self.sound_seconds, 1e-9)
        return f"{name:26}{self.said:6}{shares}{p50:8.0f}{p95:8.0f}{share:8.3f}"


HEAD = (
    f"{'condition':26}{'said':>6}{'hit %':>8}{'wrong %':>8}{'refused':>8}{'uncut %':>8}"
    f"{'p50 ms':>8}{'p95 ms':>8}{'CPU':>8}"
)


def hear(recogniser: Recogniser, vocabulary: Vocabulary, sound: Sound) -> tuple[str, float, float]:
    """Return the words that would count, the processor time of `finish`, and all of it.

    Not the time by the clock: what else a busy machine does is no matter of the recogniser.
    """
    is_long = len(sound.pcm16) > LONGEST_COMMAND_BYTES
    if is_long and not vocabulary.numbers:  # the hearing gives it to no recogniser
        return "", 0.0, 0.0
    started = time.process_time()
    recogniser.begin()
    for at in range(0, len(sound.pcm16), 1024):
        recogniser.feed(sound.pcm16[at : at + 1024])
    before = time.process_time()
    words = recogniser.finish(sound.pcm16).words
    took = time.process_time() - before
    whole = time.process_time() - started
    return ("" if is_long and words in vocabulary.phrases else words), took, whole


def positives(subject: subjects.Subject) -> dict[str, Tally]:
    """Say every word under every condition with every voice of the subject."""
    tallies: dict[str, Tally] = {}
    for speaker in subject.speakers:
        recogniser = speaker.recogniser()
        recogniser.expect(subject.vocabulary)
        for condition in scenes.CONDITIONS:
            tally = tallies.setdefault(condition.name, Tally())
            scene = scenes.spoken(speaker.voice, subject.words, condition, seed=7)
            tally.said += scene.said
            tally.cpu_seconds += scene.cpu_seconds
            tally.sound_seconds += scene.seconds
            for sound in scene.sounds:
                words, took, cpu = hear(recogniser, subject.vocabulary, sound)
                tally.cpu_seconds += cpu
                tally.add(sound, words, took, subject.language)
    return tallies


def false_accepts(subject: subjects.Subject) -> Iterator[str]:
    """Play speech that is no command to some speakers' recognisers; yield the rows.

    It is the speech that the figures of the untaught ear are of: nothing was trained or chosen on
    it.
    """
    recognisers = [speaker.recogniser() for speaker in subject.speakers[: subject.listeners]]
    for recogniser in recognisers:
        recogniser.expect(subject.walking)
    all_taken, all_hours = Counter[str](), dict[str, float]()
    for kind, name, scene in unseen.other_speech():
        if name in material.FOR_CHOOSING:
            continue
        taken: Counter[str] = Counter()
        step = -(-len(scene.sounds) // MOST_SOUNDS) or 1
        for sound in scene.sounds[::step]:
            for recogniser in recognisers:
                words, _, _ = hear(recogniser, subject.walking, sound)
                taken[words] += bool(words)
        hours = scene.seconds / 3600 * len(recognisers) / step
        yield _row(name, hours, len(scene.sounds[::step]) * len(recognisers), taken)
        all_taken[kind] += sum(taken.values())
        all_hours[kind] = all_hours.get(kind, 0.0) + hours
    for kind, hours in all_hours.items():
        yield f"{kind}: {all_taken[kind]} in {hours:.2f} h, {all_taken[kind] / hours:.2f} an hour"


def _row(name: str, hours: float, sounds: int, taken: Counter[str]) -> str:
    top = ", ".join(f"{words} {number}" for words, number in taken.most_common(4) if number)
    count = sum(taken.values())
    return f"{name:32}{hours:7.2f}{sounds:7}{count:7}{count / hours:9.2f}   {top}"


def repeats() -> None:
    """Print how far apart two recordings of one word by one person are, and of two words."""
    same, other = subjects.repeated_words()
    for name, values in (("same word", same), ("another word", other)):
        parts = np.percentile(values, [5, 50, 90, 95])
        print(f"{name:14}{len(values):6} pairs; p5 p50 p90 p95:", *(f"{p:.3f}" for p in parts))


def main(arguments: Sequence[str]) -> None:
    """Print the tables of the subject named."""
    if arguments[0] == "repeats":
        repeats()
        return
    subject = subjects.SUBJECTS[arguments[0]]()
    if "commands" in arguments or len(arguments) == 1:
        print_commands(arguments[0], subject)
    if "others" in arguments or len(arguments) == 1:
        print_others(subject)


def print_commands(name: str, subject: subjects.Subject) -> None:
    """Print what became of the commands."""
    print(f"{name}: {len(subject.speakers)} voices, {len(subject.words)} forms each")
    print(HEAD)
    total = Tally()
    for condition, tally in positives(subject).items():
        print(tally.line(condition), flush=True)
        total.confusions += tally.confusions
    shown = (f"{said!r}->{heard!r} {n}" for (said, heard), n in total.confusions.most_common(12))
    print("most often not heard right:", ", ".join(shown), flush=True)


def print_others(subject: subjects.Subject) -> None:
    """Print what became of speech that is no command."""
    print(f"\n{'not commands':32}{'hours':>7}{'sounds':>7}{'taken':>7}{'an hour':>9}")
    for row in false_accepts(subject):
        print(row, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
