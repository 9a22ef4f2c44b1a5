"""What is listened for in each mode, and what the walk makes of a voice that may be misheard."""

from __future__ import annotations

import io
import itertools
import sys
from typing import TYPE_CHECKING

import pytest
from made_stages import straight, trial_journal
from paper_plans import demo

from companion import guide
from companion.base.errors import CommandError
from companion.command import LANGUAGES, Command, Kind, parse
from companion.command.words import FORMS
from companion.devices.speech.voice import Voice
from companion.guide import Options
from companion.guide.choices import likely_numbers
from companion.guide.messages import Mode
from companion.job import stage
from companion.session.inputs import Input
from companion.session.presenter import Console, Presenter
from companion.session.sitting import Sitting
from companion.session.spoken import lacking, unheard, vocabulary
from companion.wording import Style

if TYPE_CHECKING:
    import queue
    from pathlib import Path

    from companion.record import Journal


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_phrase_listened_for_is_a_command_of_the_language(language: str) -> None:
    """What the ear may emit parses, in every mode, to what fits there."""
    for mode in Mode:
        words = vocabulary(language, mode, 12)
        kinds = {parse(phrase, language).kind for phrase in words.phrases}
        counted = {Mode.COUNTING, Mode.LEFT_OVER, Mode.HELD}
        answered = {Mode.CONFIRMING, Mode.CHOOSING}
        assert (Kind.YES in kinds) == (mode in answered)
        assert (Kind.NO in kinds) == (mode in answered | counted)
        wants_number = mode in counted | {Mode.READING, Mode.CHOOSING, Mode.LOOKING}
        assert bool(words.numbers) == wants_number
        assert (Kind.COUNT in kinds) == wants_number
        assert (Kind.DONE in kinds) == (mode not in {Mode.CONFIRMING, Mode.PAUSED})
        idle = {parse(phrase, language).kind for phrase in words.unlikely}
        assert words.unlikely <= words.phrases
        assert (Kind.MEND in idle) == (
            mode in {Mode.WALKING, Mode.FINISHED, Mode.READING} | counted - {Mode.HELD}
        )


@pytest.mark.parametrize("language", LANGUAGES)
def test_keys_mean_the_same_in_every_language(language: str) -> None:
    """No form of a language is an English form of another command, so keys may go first."""
    for name, texts in FORMS[language].items():
        for text in texts:
            form = text.format(n="3", end="3", reason="so")
            try:
                in_english = parse(form)
            except CommandError:
                continue
            assert in_english.kind is Kind(name)


def test_the_least_to_teach_is_any_form_of_each() -> None:
    """A synonym taught in place of the first form will do."""
    everything = lacking((), "en")
    assert "next one" in everything, "the form measured to be safest is asked for"
    assert "seven" in everything
    assert lacking((*everything[1:], "done"), "en") == ()
    assert lacking(everything[1:], "en") == ("next one",)


def test_a_command_is_heard_while_one_form_of_it_is_known() -> None:
    """Only where all forms are missing it must be given by key."""
    assert unheard(("undo", "done", "undo that"), "en") == ("undo",)


class Given:
    """A source that gives what it was made with."""

    def __init__(self, *given: Input) -> None:
        self._given = given

    def start(self, inbox: queue.Queue[Input]) -> None:
        for each in (*self._given, Input("closed", "", "voice")):
            inbox.put(each)

    def follow(self, mode: Mode, largest_end: int) -> None:
        """Give all the same."""

    def close(self) -> None:
        """Nothing to give back."""


def walked(folder: Path, *given: Input, language: str = "en") -> tuple[str, Journal, bool]:
    """Walk a stage by these inputs; return what was printed, the record and whether it was left."""
    printed = io.StringIO()
    journal = trial_journal(folder)
    presenter = Presenter(Console(printed), Voice(), Style(language=language))
    unhurried = map(float, itertools.count(step=10)).__next__
    options = Options(cautions=False)
    sitting = Sitting([straight()], journal, presenter, options, clock=unhurried)
    sitting.run([Given(*given)])
    text = printed.getvalue()
    return text, journal, list(journal.entries())[-1].words == "stopped"


def voice(text: str, *, asks_back: bool = False) -> Input:
    return Input("command", text, "voice", asks_back)


STOPPED = voice("stop", asks_back=True)


def test_leaving_by_voice_is_asked_back(tmp_path: Path) -> None:
    """It is done on yes, and both are recorded."""
    text, journal, is_left = walked(tmp_path, voice("done"), STOPPED, voice("yes"))
    assert "Stop here? Your place is kept." in text
    assert is_left
    assert [e.words for e in journal.entries() if e.words] == ["done", "stop", "yes", "stopped"]
    journal.close()


@pytest.mark.parametrize(("answer", "end"), [("no", 2), ("done", 3), ("back", 1)])
def test_leaving_is_dropped_on_any_other_answer(tmp_path: Path, answer: str, end: int) -> None:
    """No says where the walk is; another command is taken as such."""
    text, journal, is_left = walked(tmp_path, voice("done"), STOPPED, voice(answer), voice("yes"))
    assert not is_left
    asked = text.index("Stop here?")
    assert f"End {end}:" in text[asked:]
    assert "Nothing was asked" in text[asked:]
    journal.close()


def test_leaving_by_key_is_not_asked_back(tmp_path: Path) -> None:
    """Only a voice may be misheard."""
    text, journal, is_left = walked(tmp_path, Input("command", "stop", "key"))
    assert is_left
    assert "Stop here?" not in text
    journal.close()


def test_what_could_lose_work_is_asked_about_by_voice_too(tmp_path: Path) -> None:
    """To go back into a closed group, and to let a wrong count stand, take a yes."""
    group = [voice("done")] * 4
    text, journal, _ = walked(
        tmp_path, *group, voice("four"), voice("rewind one"), voice("no"), voice("where am i")
    )
    assert "Next, end 5" in text
    journal.close()
    text, journal, _ = walked(tmp_path / "b", *group, voice("two"), voice("accept"), voice("yes"))
    assert "Group 2" in text
    journal.close()


def test_keys_are_english_while_words_are_of_the_weavers_language(tmp_path: Path) -> None:
    """In a German walk the pedal's "done", a typed line and a spoken word all lead on."""
    text, journal, _ = walked(
        tmp_path,
        Input("command", "done", "pedal"),
        Input("command", "fertig", "key"),
        voice("erledigt"),
        language="de",
    )
    assert "End 4:" in text
    journal.close()


GROUP_OF_EIGHT = [voice("next one")] * 8


def first_try(monkeypatch: pytest.MonkeyPatch) -> None:
    """Walk the small plan: groups of eight ends, a straight draw on four shafts."""
    threading = stage(demo("first-try"), "thread-and-sley")
    monkeypatch.setattr(sys.modules[__name__], "straight", lambda: threading)


def test_a_wrong_count_and_its_mend_are_walked_by_yes_and_no(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """End 6 was left out: 7 is offered after the plan's 8, then the shafts until the place is
    known; the mend is walked, and the count after it is offered too."""
    first_try(monkeypatch)
    words = "next one/no/yes/next one/no/yes/mend/no/yes/yes/yes/yes/yes/no/yes/yes/mend/yes"
    given = [*words.split("/"), *["next one"] * 4, "next one", "yes"]
    text, journal, _ = walked(tmp_path, *GROUP_OF_EIGHT, *map(voice, given))
    journal.close()
    told = (
        "Yes or no: 7?\n7, but 8 are planned. Count once more.\nYes or no: 8?\n7?\n",
        (
            "Feel them from end 1 on. Yes or no: shaft 1?\nShaft 2?\nShaft 3?\nShaft 4?\nShaft 1?\n"
            "Shaft 2?\nShaft 3?\nShaft 4?\nMost likely end 6, "
        ),
        "Most likely end 6, shaft 2, is missing. Say mend to put it right.",
        "Group 1 is put right.",
        "Yes or no: 8?\n8, right.",
    )
    places = [text.index(each) for each in told]
    assert places == sorted(places)
    assert "Nothing was asked" not in text


def test_a_number_or_another_command_ends_what_is_offered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever can say a number does; "say again" has the offer said once more."""
    first_try(monkeypatch)
    given = ("next one", "no", "no", "say again", "six", "where am i")
    text, journal, _ = walked(tmp_path, *GROUP_OF_EIGHT, *map(voice, given))
    journal.close()
    assert "Yes or no: 7?\n9?\n9?\n6, but 8 are planned." in text


def test_numbers_are_offered_to_a_voice_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By key a number is quicker: a "no" is then no more than that."""
    first_try(monkeypatch)
    keys = [Input("command", word, "key") for word in ("done", "no", "7")]
    text, journal, _ = walked(tmp_path, *GROUP_OF_EIGHT, *keys)
    journal.close()
    assert "Nothing changed.\nGroup 1. How many ends are in heddles?\n7, but 8 are planned." in text


def test_shafts_named_from_the_choices_are_all_told_before_they_are_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only where they were offered do they end by themselves; an offer that was left is over."""
    first_try(monkeypatch)
    held = "next one/no/yes/next one/no/yes/mend/no/where am i/choices/no/yes"
    felt = "/".join("no/" * (shaft - 1) + "yes" for shaft in (1, 2, 3, 4, 1, 3, 4))
    given = f"{held}/{felt}".split("/")
    text, journal, _ = walked(tmp_path, *GROUP_OF_EIGHT, *map(voice, given))
    journal.close()
    _, _, after = text.partition("The shafts you feel?\n")
    assert after.startswith("1?\n1?\n2?\n1?\n2?\n3?\n1?")
    assert "Most likely" not in after


@pytest.mark.parametrize(("is_demanded", "order"), [(False, "8 7 9 6"), (True, "7 9 8 6")])
def test_a_count_that_must_be_given_is_not_led_by_the_plan(
    *, is_demanded: bool, order: str
) -> None:
    """Where the weaver has counts demanded as numbers, the plan's own is not offered first."""
    threading = stage(demo("first-try"), "thread-and-sley")
    options = Options(demand_counts=is_demanded)
    state, _ = guide.start(threading, options)
    for _ in range(8):
        state = guide.step(state, Command(Kind.DONE), threading).state
    choices = likely_numbers(state, Kind.NO, threading)
    assert choices is not None
    assert " ".join(map(str, choices.numbers[:4])) == order
