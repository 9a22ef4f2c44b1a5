"""What works on this machine and how to mend the rest, one finding for each part."""

import importlib.util
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Literal, NamedTuple

from companion.base import fault_log
from companion.base.errors import CompanionError, ModelError, NoEarError
from companion.base.files import make_folder
from companion.devices.audio.clip import trimmed
from companion.devices.audio.devices import choose as choose_device
from companion.devices.audio.portaudio import portaudio
from companion.devices.pedal.devices import choose, list_devices, permission_help
from companion.devices.speech.make import is_installed
from companion.devices.speech.synthesis import EngineName, Synthesiser
from companion.record import Journal, default_folder
from companion.settings import Settings, load_usable

TRIAL_LINE = "End 1: shaft 1, dent 1."
_NO_SOUND = "No sound {} was found. Plug one in; walks go on {} meanwhile."
State = Literal["works", "missing", "not set up"]


class Finding(NamedTuple):
    """One part of the set-up."""

    part: str
    state: State
    detail: str
    """What was found and, where something is missing, how to mend it."""

    @property
    def line(self) -> str:
        """The finding as one line, its state before its detail."""
        return f"{self.part}: {self.state}. {self.detail}"


Found = tuple[State, str]
"""The state of a part, and its detail."""


def findings() -> Iterator[Finding]:
    """Yield a finding for every part, whatever the others say."""
    settings, faults = load_usable()
    for fault in faults:
        yield Finding("Settings", "missing", fault)
    for part, check in CHECKS.items():
        try:
            yield Finding(part, *check(settings))
        except CompanionError as error:
            yield Finding(part, "missing", str(error))


def _natural_voice(settings: Settings) -> Found:
    if not is_installed():
        how = "Get it by pip install hibari-tts; without it the system's voice speaks."
        return "not set up", how
    return _speaks("natural", settings)


def _speaks(engine: EngineName, settings: Settings) -> Found:
    voice = settings.speech.voice if engine == "system" else ""
    synthesiser = Synthesiser(engine, voice, lambda _line: None)
    try:
        clip = trimmed(synthesiser.make(TRIAL_LINE, settings.speech.words_per_minute))
    finally:
        synthesiser.close()
    return "works", f"A callout of {clip.seconds:.1f} s was made."


def _speaker(settings: Settings) -> Found:
    outputs = [device.name for device in portaudio().outputs()]
    if not outputs:
        return "missing", _NO_SOUND.format("output", "as printed text")
    wanted = settings.audio.output_device or "the system's own"
    return "works", f"Found {', '.join(outputs)}; set: {wanted}."


def _microphone(settings: Settings) -> Found:
    inputs = portaudio().inputs()
    if not inputs:
        return "missing", _NO_SOUND.format("input", "by key and pedal")
    used = choose_device(inputs, settings.audio.input_device)
    names = ", ".join(device.name for device in inputs)
    return "works", f"Found {names}; used: {used.name}. Try it: companion listen"


def _spoken(settings: Settings) -> Found:
    """Load what listens, and tell what it cannot hear and how it did when it was last scored."""
    from companion.devices.recogniser.activity import voice_activity  # noqa: PLC0415 - loads long
    from companion.session import measured  # noqa: PLC0415
    from companion.session.recognisers import choose as choose_recogniser  # noqa: PLC0415
    from companion.session.recognisers import problems  # noqa: PLC0415
    from companion.wording import score  # noqa: PLC0415

    hearing = settings.hearing
    if hearing.recogniser == "off":
        return "not set up", "Switched off: companion settings hearing.recogniser"
    try:
        choice = choose_recogniser(hearing.recogniser, hearing.language)
    except ModelError as error:
        how = _how(hearing.language) if isinstance(error, NoEarError) else str(error)
        return "not set up", how
    recogniser = choice.make()
    voice_activity()
    kept = measured.score_of(hearing.language)
    scored = score.kept_in_short(kept) if kept else "Never scored: companion listen --score"
    lacks = problems(recogniser, hearing.language)
    return "works", " ".join([choice.line, *lacks, scored])


def _how(language: str) -> str:
    """Return how spoken commands are set up, and why they are not heard by themselves."""
    from companion.devices.recogniser.untaught import why_not  # noqa: PLC0415 - as above

    return (
        f"{why_not(language)} Teach your own words: companion teach. Or fetch a model of the "
        f"language: companion models fetch {language}"
    )


def _keys(_settings: Settings) -> Found:
    if sys.stdin.isatty():
        return "works", "This terminal gives single keys; a pedal may type them."
    return "works", "Input comes from a file or pipe: one command a line."


def _pedal(settings: Settings) -> Found:
    if not settings.pedal.device:
        return "not set up", "For one that types keys: companion pedal learn. More: README.md."
    if importlib.util.find_spec("evdev") is None:
        return "missing", "Reading a pedal by itself needs the evdev package."
    for device in choose(settings.pedal.device, list_devices()):
        try:
            with Path(device.path).open("rb"):
                pass
        except PermissionError:
            return "missing", permission_help(device)
        except OSError as error:
            return "missing", f"{device}: {error.strerror}. Plug it in again."
    return "works", f"{settings.pedal.device} can be read."


def _journal(_settings: Settings) -> Found:
    """Write and read a session in the real folder's file system."""
    folder = default_folder()
    try:
        make_folder(folder)
        with tempfile.TemporaryDirectory(dir=folder) as trial:
            Journal.create(Path(trial), title="trial", options={}).close()
    except OSError as error:
        return _not_written(folder, error)
    return "works", f"Sessions are kept in {folder}."


def _fault_log(_settings: Settings) -> Found:
    """Write beside the log, not into it: it is there only once something went wrong."""
    path = fault_log.path()
    try:
        make_folder(path.parent)
        with tempfile.TemporaryFile(dir=path.parent):
            pass
    except OSError as error:
        return _not_written(path.parent, error)
    if not path.exists():
        return "works", f"Nothing has gone wrong yet: {path}"
    try:
        path.open("ab").close()
    except OSError as error:
        return "missing", f"{path} cannot be written: {error.strerror}. Move it somewhere else."
    return "works", f"Send it with a report of a fault: {path}"


def _not_written(folder: Path, error: OSError) -> Found:
    how = "Set COMPANION_HOME to a folder of yours."
    return "missing", f"{folder} cannot be written: {error.strerror}. {how}"


CHECKS: dict[str, Callable[[Settings], Found]] = {
    "Voice": lambda settings: _speaks("system", settings),
    "Natural voice": _natural_voice,
    "Loudspeaker": _speaker,
    "Microphone": _microphone,
    "Spoken commands": _spoken,
    "Keys": _keys,
    "Pedal": _pedal,
    "Journal": _journal,
    "Fault log": _fault_log,
}
