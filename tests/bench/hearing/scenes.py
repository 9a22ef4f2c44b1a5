"""Sounds as the companion's own hearing cuts them out, with what was truly said in each.

The cutting does not depend on the recogniser, so it is done once for all and cached.
"""

from __future__ import annotations

import hashlib
import pickle
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import recordings
import rooms
import whole
from voices import CACHE, VOICES, Voice, speak

from companion.devices.hearing.hearing import Refused
from companion.devices.hearing.listener import Listener, level_dbfs
from companion.devices.hearing.settings import FRAME_SAMPLES
from companion.devices.recogniser.activity import voice_activity
from companion.devices.recogniser.interface import SAMPLE_RATE, Recogniser, Refusal, Vocabulary

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

QUIET_LEAD_SECONDS = 1.2


@dataclass(frozen=True, slots=True)
class Sound:
    """One sound cut out by the hearing."""

    pcm16: bytes
    said: str
    """What was said, or "" for speech that is no command."""
    wait_seconds: float
    """From the acoustic end of the word to the decision that the sound is over."""
    clear_decibels: float
    """How far its loudest frame stands above the room."""


@dataclass(frozen=True, slots=True)
class Scene:
    """What the hearing made of one stream."""

    sounds: tuple[Sound, ...]
    said: int
    """How many commands were spoken in it."""
    seconds: float
    cpu_seconds: float
    """What detector and hearing took."""


@dataclass(frozen=True, slots=True)
class Condition:
    """Where a command is said."""

    name: str
    snr_decibels: float
    noise: str = "white"
    room_seconds: float = 0.0


CONDITIONS = (
    Condition("white 30 dB", 30),
    Condition("white 20 dB", 20),
    Condition("white 10 dB", 10),
    Condition("babble 30 dB", 30, "babble"),
    Condition("babble 20 dB", 20, "babble"),
    Condition("babble 10 dB", 10, "babble"),
    Condition("room 0.4 s, white 30 dB", 30, "white", 0.4),
)
TALK = (
    "the weather has been so lovely this week that we sat outside all evening",
    "she bought a new kettle because the old one had begun to leak",
    "they are thinking of moving to the coast when the children have left school",
    "my brother rang yesterday and talked for an hour about his garden",
)


def cached(make: Callable[[], Scene], *key: object) -> Scene:
    """Return the scene made before under this key, or make it."""
    name = hashlib.sha256(repr(key).encode()).hexdigest()[:24]
    kept = CACHE / "scenes" / f"{name}.pickle"
    content = whole.content(kept, lambda: pickle.dumps(make()))
    scene: Scene = pickle.loads(content)  # noqa: S301 - our own cache
    return scene


def spoken(voice: Voice, words: Sequence[str], condition: Condition, seed: int = 0) -> Scene:
    """Return each of `words` said once by a voice, with pauses, under a condition."""
    spoken = [(voice, word) for word in words]
    key = ("said", 6, tuple(spoken), condition, seed)
    return cached(lambda: _said(spoken, condition, seed), *key)


def said(spoken: Sequence[tuple[Voice, str]], condition: Condition, seed: int = 0) -> Scene:
    """Return what each voice says, one after another with pauses, under a condition."""
    key = ("said at once", 2, tuple(spoken), condition, seed)
    return cached(lambda: _said(spoken, condition, seed), *key)


def recorded(package: str, part: str = "") -> Scene:
    """Return the recorded human speech of a package, or a part of it; none of it is a command."""
    key = ("recorded", 4, package, *filter(None, [part]))
    return cached(lambda: _cut(recordings.load(package, part), []), *key)


def made(name: str, minutes: int) -> Scene:
    """Return `music` or `knocks` alone, as loud as speech, as they are made in `rooms`."""

    def make() -> Scene:
        random = np.random.default_rng(2)
        sound = _NOISES[name](minutes * 60 * SAMPLE_RATE, random)
        floor = rooms.white(len(sound), random) * np.float32(1e-3)
        return _cut(rooms.at_level(sound, rooms.SPEECH_DBFS) + floor, [])

    return cached(make, "made", 2, name, minutes)


def callouts(lines: Sequence[str], voice: Voice, snr_decibels: float = 30) -> Scene:
    """Return the companion's own sentences played back into the microphone."""
    gap = np.zeros(round(QUIET_LEAD_SECONDS * SAMPLE_RATE), np.float32)
    pieces = [piece for line in lines for piece in (gap, rooms.at_level(speak(voice, line), -26))]
    random = np.random.default_rng(1)
    stream = np.concatenate([*pieces, gap])
    noise = rooms.at_level(rooms.white(len(stream), random), -26 - snr_decibels)
    key = ("callouts", 4, tuple(lines), voice)
    return cached(lambda: _cut(stream + noise, []), *key)


def _said(
    spoken: Sequence[tuple[Voice, str]],
    condition: Condition,
    seed: int,
) -> Scene:
    random = np.random.default_rng(seed)
    pieces, truths, at = [], [], 0
    for voice, word in spoken:
        gap = np.zeros(round((QUIET_LEAD_SECONDS + random.random() * 0.5) * SAMPLE_RATE))
        sound = rooms.at_level(speak(voice, word), rooms.SPEECH_DBFS)
        truths.append((word, at + len(gap), at + len(gap) + len(sound)))
        if condition.room_seconds:
            sound = rooms.in_room(sound, condition.room_seconds, random)
        pieces += [gap, sound]
        at += len(gap) + len(sound)
    stream = np.concatenate([*pieces, np.zeros(SAMPLE_RATE)]).astype(np.float32)
    return _cut(stream + _noise(len(stream), condition, random), truths)


_NOISES = {"white": rooms.white, "music": rooms.music, "knocks": rooms.knocks}


def _noise(samples: int, condition: Condition, random: np.random.Generator) -> np.ndarray:
    if condition.noise in _NOISES:
        noise = _NOISES[condition.noise](samples, random)
    elif condition.noise == "people":
        noise = rooms.babble(samples, recordings.people(), random)
    else:
        talk = [speak(voice, line) for voice in VOICES[:6] for line in TALK]
        noise = rooms.babble(samples, talk, random)
    return rooms.at_level(noise, rooms.SPEECH_DBFS - condition.snr_decibels)


def _cut(stream: np.ndarray, truths: list[tuple[str, int, int]]) -> Scene:
    """Run the real chain over a stream; `truths` are words with their first and last sample."""
    numbers = Vocabulary(frozenset(), frozenset({"-"}))
    data, block, sounds = rooms.pcm16(stream), FRAME_SAMPLES * 2, []
    listener = Listener(Recogniser(), voice_activity(), numbers)
    started = time.process_time()
    for at in range(0, len(data), block):
        cut = listener.feed(data[at : at + block])
        if cut and isinstance(cut[0], Refused) and cut[0].refusal is Refusal.UNKNOWN:
            taken, now = listener.sound, listener.hearing.seconds
            said, end = _truth(truths, now)
            loudest = max(level_dbfs(taken[i : i + block]) for i in range(0, len(taken), block))
            clear = loudest - listener.hearing.floor_dbfs
            sounds.append(Sound(taken, said, now - end, clear))
    cpu = time.process_time() - started
    return Scene(tuple(sounds), len(truths), len(stream) / SAMPLE_RATE, cpu)


def _truth(truths: list[tuple[str, int, int]], now: float) -> tuple[str, float]:
    """Return the word that was over, or nearly, at `now`, and when it ended."""
    for word, start, end in truths:
        if start / SAMPLE_RATE < now < end / SAMPLE_RATE + 1.0:
            return word, end / SAMPLE_RATE
    return "", now
