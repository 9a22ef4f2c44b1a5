"""What listening without a lesson costs, and how long after a word it counts.

`PYTHONPATH=.:tests python tests/bench/hearing/cost.py en`. The whole chain, as in a walk, but fed
from memory: detector, hearing and both networks. What the machine does beside it is not counted:
times are those of the sound itself and of this process.
"""

from __future__ import annotations

import sys
import time

import cast
import material
import numpy as np
import rooms
from voices import RATE, speak

from companion.devices.hearing.hearing import Accepted
from companion.devices.hearing.listener import Listener
from companion.devices.hearing.settings import FRAME_SAMPLES
from companion.devices.recogniser.activity import voice_activity
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.untaught import Opinion, UntaughtRecogniser
from companion.session.spoken import vocabulary

_EVERY_SECONDS = 2


def main(language: str) -> None:
    """Print the shares of a core and the times to the accepted command."""
    recogniser = UntaughtRecogniser(Opinion(language), SpeechEmbedder())
    speaker = cast.UNSEEN[language][1][-1]
    sounds = [speak(cast.drawn(speaker, form), form) for form in material.forms(language)]
    streams = (
        ("nobody speaks", [np.zeros(0, np.float32)] * 30),
        (f"{speaker}, a command every {_EVERY_SECONDS} s or so", sounds),
    )
    for name, said in streams:
        listener = Listener(recogniser, voice_activity(), vocabulary(language, None))
        share, late = _listen(listener, said)
        print(f"{name}: {share:.3f} of a core")
        if late:
            p50, p95 = np.percentile(late, [50, 95]) * 1000
            print(f"{len(late)} accepted: median {p50:.0f} ms, 95 % within {p95:.0f} ms")


def _listen(listener: Listener, said: list[np.ndarray]) -> tuple[float, list[float]]:
    """Return the share of a core, and the seconds from each word's end until it counts.

    A piece of sound is taken when it has come and what came before it is done with.
    """
    random, late, before, at = np.random.default_rng(5), [], time.process_time(), 0
    free = 0.0
    for sound in said:
        length = max(_EVERY_SECONDS * RATE, len(sound) + RATE)
        stream = rooms.at_level(rooms.white(length, random), rooms.SPEECH_DBFS - 30)
        first = length - len(sound) - RATE // 2
        if len(sound):
            stream[first : first + len(sound)] += rooms.at_level(sound, rooms.SPEECH_DBFS)
        data, block = rooms.pcm16(stream), FRAME_SAMPLES * 2
        for start in range(0, len(data), block):
            begun = time.process_time()
            reports = listener.feed(data[start : start + block])
            come = at / RATE + (start + block) / 2 / RATE
            free = max(free, come) + time.process_time() - begun
            if any(isinstance(report, Accepted) for report in reports):
                late.append(free - (at + first + len(sound)) / RATE)
        at += length
    return (time.process_time() - before) / (at / RATE), late


if __name__ == "__main__":
    main(sys.argv[1])
