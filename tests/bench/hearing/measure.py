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

import numpy as np
import scenes
import subjects

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

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

    def add(self, sound: Sound, words: str, finish_seconds: float) -> None:
        """Count one sound and what was made of it."""
        outcome = "hit" if words == sound.said else "wrong" if words else "refused"
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
    """Return the words that would count, the time `finish` took, and all processor time."""
    started = time.process_time()
    recogniser.begin()
    for at in range(0, len(sound.pcm16), 1024):
        recogniser.feed(sound.pcm16[at : at + 1024])
    before = time.perf_counter()
    words = recogniser.finish().words
    took = time.perf_counter() - before
    too_long = words in vocabulary.phrases and len(sound.pcm16) > LONGEST_COMMAND_BYTES
    return ("" if too_long else words), took, time.process_time() - started


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
                tally.add(sound, words, took)
    return tallies


def false_accepts(
    subject: subjects.Subject, speech: Iterable[tuple[str, scenes.Scene]]
) -> list[str]:
    """Play speech that is no command to every speaker's recogniser; return the rows."""
    rows = []
    recognisers = [speaker.recogniser() for speaker in subject.speakers[: subject.listeners]]
    for recogniser in recognisers:
        recogniser.expect(subject.vocabulary)
    for name, scene in speech:
        taken: Counter[str] = Counter()
        step = -(-len(scene.sounds) // MOST_SOUNDS) or 1
        for sound in scene.sounds[::step]:
            for recogniser in recognisers:
                words, _, _ = hear(recogniser, subject.vocabulary, sound)
                taken[words] += bool(words)
        hours = scene.seconds / 3600 * len(recognisers) / step
        top = ", ".join(f"{w} {n}" for w, n in taken.most_common(4) if n)
        count = sum(taken.values())
        rows.append(
            f"{name:32}{hours:7.2f}{len(scene.sounds[::step]) * len(recognisers):7}{count:7}"
            f"{count / hours:9.2f}   {top}"
        )
    return rows


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
    for row in false_accepts(subject, subject.other_speech()):
        print(row, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
