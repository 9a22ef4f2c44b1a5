"""Choose and start a voice; whatever is missing, the walk goes on."""

from __future__ import annotations

import sys
import threading
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from companion.base import home
from companion.base.errors import AudioError, SpeechError
from companion.base.lines import Tell
from companion.devices.speech.voice import ClipSource, Voice
from companion.settings import Settings
from companion.settings.schema import Audio, Engine

if TYPE_CHECKING:
    from companion.devices.speech.clips import Clips
    from companion.devices.speech.synthesis import EngineName

ESPEAKS_OWN = "en"
"""The voice of espeak-ng that pyttsx3 speaks by unless another is named."""
START_SECONDS = 5.0
"""How long the start waits to learn whether voice and loudspeaker work."""


def store_folder() -> Path:
    """Return where clips are kept."""
    return home.cache() / "clips"


def make_clips(engine: Engine, voice: str, report: Tell, folder: Path | None = None) -> Clips:
    """Return what turns lines into clips, by the engines of `engines_for` that serve in turn.

    They are kept in the folder, or in that of `store_folder`.
    """
    from companion.devices.speech.clips import Clips  # noqa: PLC0415 - a silent walk begins sooner
    from companion.devices.speech.store import ClipStore  # noqa: PLC0415 - as above
    from companion.devices.speech.synthesis import Synthesiser  # noqa: PLC0415 - as above

    makers = [
        Synthesiser(name, voice if name == "system" else "", report, is_spare=number > 0)
        for number, name in enumerate(engines_for(engine))
    ]
    return Clips(makers, ClipStore(folder or store_folder()), report)


def engines_for(engine: Engine) -> tuple[EngineName, ...]:
    """Return the engines to try in turn; by itself the system's voice speaks.

    The numbers of the natural one are told apart far better in quiet and in little noise, but in
    much noise one of two listeners has it clearly behind (`tests/bench/bench_numbers.py`).
    """
    return ("natural", "system") if engine == "natural" else ("system",)


def measured_voice(engine: Engine, voice: str) -> str:
    """Return "natural", a voice of espeak-ng by its language, or "" for one nobody knows of."""
    if engine == "natural":
        return "natural"
    return voice or ESPEAKS_OWN if sys.platform.startswith("linux") else ""


def is_installed() -> bool:
    """Say whether the natural voice is there."""
    return find_spec("hibari") is not None


def make_voice(
    settings: Settings,
    report: Tell,
    *,
    is_silent: bool = False,
    audio_out: Path | None = None,
    clips: ClipSource | None = None,
) -> Voice:
    """Start the voice that the settings ask for, and report in plain lines what does not work.

    A missing speech engine or loudspeaker is no error: the voice is there all the same, tries
    again by itself, and reports each later change too, from its own threads.

    Args:
        settings: how to speak, and by which loudspeaker.
        report: told what does not work.
        is_silent: text only.
        audio_out: a WAV file for what would be heard, instead of the loudspeaker.
        clips: where the speech comes from; None: the engine that is set.

    Raises:
        AudioError: the WAV file asked for cannot be made.
    """
    if is_silent and audio_out is None:
        return Voice()
    speech, tell = settings.speech, _not_twice(report)
    clips = clips or make_clips(speech.engine, speech.voice, tell)
    try:
        voice = _voice(settings.audio, audio_out, clips, speech.words_per_minute, tell)
    except AudioError:
        clips.close()
        raise
    try:
        clips.check()
    except SpeechError as error:
        tell(str(error))
    return voice


def _voice(
    audio: Audio, audio_out: Path | None, clips: ClipSource, words_per_minute: int, tell: Tell
) -> Voice:
    if audio_out is not None:
        from companion.devices.speech.wav_voice import WavVoice  # noqa: PLC0415 - not for most

        return WavVoice(audio_out, clips, words_per_minute, tell)
    from companion.devices.audio.playback import DevicePlayback  # noqa: PLC0415 - as above
    from companion.devices.audio.portaudio import portaudio  # noqa: PLC0415 - as above
    from companion.devices.speech.live_voice import LiveVoice  # noqa: PLC0415 - as above

    playback = DevicePlayback(
        portaudio, audio.output_device, tell, keep_awake_seconds=audio.keep_awake_seconds
    )
    playback.wait_tried(START_SECONDS)
    return LiveVoice(clips, playback, words_per_minute, tell)


def _not_twice(report: Tell) -> Tell:
    """Return what passes each message on, from any thread, but none twice in a row."""
    lock, last = threading.Lock(), ""

    def tell(message: str) -> None:
        nonlocal last
        with lock:
            is_new, last = message != last, message
        if is_new:
            report(message)

    return tell
