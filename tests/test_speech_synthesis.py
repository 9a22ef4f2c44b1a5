"""Text to clips: the real engine against espeak-ng itself, and workers that misbehave."""

from __future__ import annotations

import shutil
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from fakes import RATE, hum

from companion.base.errors import SpeechError
from companion.devices.audio import wav
from companion.devices.audio.clip import Clip, trimmed
from companion.devices.speech.synthesis import WORKER, Synthesiser, checked
from companion.devices.speech.worker_process import WorkerError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    Start = Callable[..., Synthesiser]

needs_espeak = pytest.mark.skipif(
    shutil.which("espeak-ng") is None, reason="the speech engine espeak-ng is not installed"
)

FAKE_WORKER = '''
"""Answers as the speech worker does, but for what each of its lives is told to do wrong."""
import json, os, sys, time, wave, math, struct
log, *lives, _engine = sys.argv[1:]
with open(log, "a") as file:
    file.write("x")
life = os.path.getsize(log) - 1
fault = lives[min(life, len(lives) - 1)]
def answer(**content):
    print(json.dumps(content), flush=True)
if fault == "no engine":
    answer(id=0, error="libespeak is missing")
    sys.exit()
answer(id=0, engine="fake " + fault)
answer(id=0)
def save(path, seconds, peak):
    sound = [round(peak * math.sin(i / 8)) for i in range(round(22050 * seconds))]
    with wave.open(path, "wb") as file:
        file.setparams((1, 2, 22050, 0, "NONE", ""))
        file.writeframes(struct.pack(f"<{len(sound)}h", *sound))
for line in sys.stdin:
    job = json.loads(line)
    if fault == "hang":
        time.sleep(60)
    if fault == "die":
        sys.exit(1)
    if fault == "no voice" and job["voice"]:
        answer(id=job["id"], unknown_voice=job["voice"])
        continue
    if fault != "no file":
        save(job["path"], 0.01 if fault == "short" else 1, 0 if fault == "silent" else 9000)
    if fault == "late":
        answer(id=job["id"] - 1)
    answer(id=job["id"], **({"error": "said no"} if fault == "refuse" else {}))
'''


@pytest.fixture
def messages() -> list[str]:
    return []


@pytest.fixture
def start(tmp_path: Path, messages: list[str], monkeypatch: pytest.MonkeyPatch) -> Iterator[Start]:
    """Start synthesisers on workers whose lives go as told; no command stands in for them."""
    program = tmp_path / "worker.py"
    program.write_text(FAKE_WORKER)
    started: list[Synthesiser] = []

    def with_lives(*lives: str, voice: str = "") -> Synthesiser:
        monkeypatch.setenv("PATH", str(tmp_path))
        command = (sys.executable, str(program), str(tmp_path / "lives"), *lives)
        limit = 2 if "hang" in lives else 60  # where nothing hangs, a busy machine has its time
        started.append(
            Synthesiser("system", voice, messages.append, command=command, text_seconds=limit)
        )
        return started[-1]

    yield with_lives
    for synthesiser in started:
        synthesiser.close()


def lives(tmp_path: Path) -> int:
    return (tmp_path / "lives").stat().st_size


@pytest.mark.parametrize("fault", ["hang", "die", "silent", "short", "no file", "refuse", "late"])
def test_a_worker_that_fails_once_is_replaced(start: Start, tmp_path: Path, fault: str) -> None:
    """Whatever it does wrong, a fresh one makes the clip, and goes on making them."""
    synthesiser = start(fault, "good")
    assert synthesiser.make("end 37", 160).seconds == 1
    assert synthesiser.make("end 38", 160).seconds == 1
    assert lives(tmp_path) == 2


def test_two_failures_are_an_error_that_says_what_to_install(start: Start) -> None:
    """The weaver reads the fault and the mend in one line."""
    with pytest.raises(SpeechError) as caught:
        start("silent").make("end 37", 160)
    assert str(caught.value).startswith("No speech: the speech engine made a silent clip.")
    assert "\n" not in str(caught.value)
    if sys.platform == "linux":
        assert "apt-get install espeak-ng" in str(caught.value)


def test_after_failing_the_next_line_does_not_wait(start: Start, tmp_path: Path) -> None:
    """A broken engine costs time once, not at each line; it is tried again a second later."""
    synthesiser = start("hang", "hang", "good")
    with pytest.raises(SpeechError):
        synthesiser.make("end 37", 160)
    before = time.monotonic()
    with pytest.raises(SpeechError):
        synthesiser.make("end 38", 160)
    assert time.monotonic() - before < 2
    assert lives(tmp_path) == 2
    time.sleep(1.1)
    assert synthesiser.make("end 38", 160).seconds == 1


def test_an_engine_that_does_not_load_is_an_error(start: Start) -> None:
    """The engine's own words are in the error."""
    with pytest.raises(SpeechError, match="libespeak is missing"):
        start("no engine").check()


def test_an_unknown_voice_is_told_and_the_usual_one_speaks(
    start: Start, tmp_path: Path, messages: list[str]
) -> None:
    """It is told once, and no worker is thrown away for it."""
    synthesiser = start("no voice", voice="nobody")
    assert synthesiser.make("end 37", 160).seconds == 1
    assert synthesiser.make("end 38", 160).seconds == 1
    assert messages == ["No voice here is called 'nobody'; the usual voice speaks instead."]
    assert lives(tmp_path) == 1


@pytest.mark.parametrize("text", ["", "  \n", "...", "—", "\0"])
def test_nothing_to_pronounce_is_an_empty_clip(start: Start, text: str) -> None:
    """Punctuation alone neither fails nor asks the engine."""
    assert start("die").make(text, 160) == Clip(b"", 22050)


def test_after_close_nothing_is_started_again(start: Start, tmp_path: Path) -> None:
    """A line asked for too late is an error, and no process is left behind."""
    synthesiser = start("good")
    synthesiser.check()
    synthesiser.close()
    with pytest.raises(SpeechError):
        synthesiser.make("end 37", 160)
    assert lives(tmp_path) == 1


@pytest.mark.filterwarnings("ignore:'aifc' is deprecated")
@pytest.mark.parametrize("kind", [b"NONE", b"sowt"])
def test_a_file_of_the_other_byte_order_is_read(tmp_path: Path, kind: bytes) -> None:
    """An AIFF or AIFF-C file that Python's own `aifc` wrote gives the same samples."""
    aifc = pytest.importorskip("aifc")
    path = tmp_path / "clip"
    big_endian = hum(0.5).samples.astype(">i2").tobytes()
    with aifc.open(str(path), "wb") as file:
        file.setparams((1, 2, RATE, 0, kind, b""))
        file.writeframes(big_endian)
    assert checked(path, "end 37", 160) == hum(0.5)


@pytest.mark.parametrize(
    "content", [b"", b"FORM", b"FORM\0\0\0\x1aAIFFCOMM\0\0\0\x12" + b"\xff" * 18]
)
def test_a_broken_file_is_the_workers_fault(tmp_path: Path, content: bytes) -> None:
    """Whatever is in it, the answer is an error that makes the synthesiser try again."""
    path = tmp_path / "clip"
    path.write_bytes(content)
    with pytest.raises(WorkerError):
        checked(path, "end 37", 160)


@pytest.fixture(scope="module")
def engine() -> Iterator[Synthesiser]:
    """Give the real engine: pyttsx3 on espeak-ng, in its worker."""
    synthesiser = Synthesiser("system", "", print)
    yield synthesiser
    synthesiser.close()


def spoken_by_espeak(text: str, rate: int, path: Path, voice: str = "en") -> Clip:
    """Return what the espeak-ng command itself makes of the text."""
    command = ["espeak-ng", "-v", voice, "-s", str(rate), "-w", str(path), text]
    subprocess.run(command, check=True)
    return wav.read(path)


@needs_espeak
@pytest.mark.parametrize(
    "text", ["one", "end 37: shaft 1, dent 37", "Dents 1 to 4; then 2 ends in each."]
)
def test_the_clip_is_what_espeak_ng_says(engine: Synthesiser, tmp_path: Path, text: str) -> None:
    """Nothing is cut or changed by the way through pyttsx3, at any speed, in any order.

    The engine loses a new speed when it is not waited for, and tells 175 while at rest whatever
    its speed, so clips follow others of the same and of another speed.
    The oracle is the espeak-ng command: the same loudness over time, and the same length to 4 %,
    for its pauses vary with what was said before.
    """
    for rate in (80, 300, 300, 175, 160, 450, 450, 175, 175, 100, 250):
        ours = trimmed(engine.make(text, rate))
        theirs = trimmed(spoken_by_espeak(text, rate, tmp_path / "oracle.wav"))
        assert ours.seconds == pytest.approx(theirs.seconds, rel=0.04, abs=0.02)
        assert np.corrcoef(loudness(ours), loudness(theirs))[0, 1] > 0.9


def loudness(clip: Clip) -> np.ndarray:
    """Return the mean size of the samples in each of 20 equal parts."""
    parts = np.array_split(np.abs(clip.samples.astype(float)), 20)
    return np.array([part.mean() for part in parts])


@needs_espeak
def test_another_voice_is_used_and_the_usual_one_left() -> None:
    """A language, a full name and a variant each sound otherwise than the usual voice."""
    text = "end 37: shaft 1"
    usual = Synthesiser("system", "", print)
    try:
        plain = usual.make(text, 160)
    finally:
        usual.close()
    for voice in ("en-us", "English (Scotland)", "en+f3"):
        other = Synthesiser("system", voice, pytest.fail)
        try:
            assert other.make(text, 160).pcm != plain.pcm
        finally:
            other.close()


@needs_espeak
def test_a_voice_that_the_real_engine_lacks_is_told(messages: list[str]) -> None:
    """The real engine ignores it in silence; we do not."""
    synthesiser = Synthesiser("system", "nobody", messages.append)
    try:
        assert synthesiser.make("end 37", 160).seconds > 0.3
    finally:
        synthesiser.close()
    assert len(messages) == 1


@needs_espeak
def test_many_threads_get_each_their_own_clip(engine: Synthesiser) -> None:
    """Two threads that ask at once get the clips that one alone would get."""
    texts = [f"end {number}" for number in range(1, 13)]
    alone = {text: trimmed(engine.make(text, 160)).seconds for text in texts}
    together: dict[str, float] = {}

    def ask(part: list[str]) -> None:
        together.update({text: trimmed(engine.make(text, 160)).seconds for text in part})

    threads = [threading.Thread(target=ask, args=(texts[start::2],)) for start in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert set(together) == set(alone)
    for text in texts:
        # espeak-ng varies a clip by some samples, and its last pause by what was said before.
        assert together[text] == pytest.approx(alone[text], rel=0.01)


@needs_espeak
def test_the_engine_names_itself(engine: Synthesiser) -> None:
    """The pinned release and the engine's own version are part of the name, for the store."""
    assert engine.check().startswith("pyttsx3 2.99 espeak ")


@needs_espeak
def test_where_the_worker_fails_the_command_speaks(messages: list[str], tmp_path: Path) -> None:
    """Without pyttsx3 the espeak-ng command makes the clip."""
    program = tmp_path / "worker.py"
    program.write_text(FAKE_WORKER)
    command = (sys.executable, str(program), str(tmp_path / "lives"), "no engine")
    synthesiser = Synthesiser("system", "en-us", messages.append, command=command)
    try:
        assert synthesiser.check() == "espeak-ng command"
        clip = trimmed(synthesiser.make("end 37", 160))
    finally:
        synthesiser.close()
    oracle = trimmed(spoken_by_espeak("end 37", 160, tmp_path / "oracle.wav", "en-us"))
    assert clip.seconds == pytest.approx(oracle.seconds, rel=0.02)
    assert messages == []


@needs_espeak
def test_the_worker_ends_with_its_parent() -> None:
    """When the parent is killed, and its end of the pipe with it, the worker goes by itself."""
    worker = subprocess.Popen([*WORKER, "system"], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert worker.stdin is not None
    assert worker.stdout is not None
    assert b"engine" in worker.stdout.readline()
    worker.stdin.close()
    assert worker.wait(5) == 0
    worker.stdout.close()
