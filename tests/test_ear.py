"""The ear of a walk: what is heard when, what is refused, and what breaks without harm."""

from __future__ import annotations

import io
import queue
from typing import TYPE_CHECKING

import numpy as np
from hearing_fakes import (
    FakeMicrophone,
    FakeRecogniser,
    blocks,
    hum,
    level_activity,
    room,
    said,
)

from companion.base.errors import ModelError
from companion.command import Kind
from companion.devices.hearing.settings import HearingSettings
from companion.devices.speech import Voice
from companion.guide.messages import Mode
from companion.session.ear import Ear
from companion.session.inputs import Input, LateSource
from companion.session.presenter import Console, Presenter
from companion.session.recognisers import ChosenEar
from companion.session.spoken import forms_of
from companion.wording import Style
from companion.wording.hearing import LOUD_ROOM

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from companion.devices.audio.microphone import Block
    from companion.devices.recogniser.interface import Recogniser

DONE, BACK, STOP, YES, TWO, FOUR, NONSENSE = 300, 500, 700, 900, 1100, 1300, 2000
WORDS = {DONE: "done", BACK: "back", STOP: "stop", YES: "yes", TWO: "two", FOUR: "four"}
LEAVING = frozenset({"stop"})


class OwnVoice(Voice):
    """Ours, which sounds while it is told to."""

    is_sounding = False

    @property
    def is_speaking(self) -> bool:
        return self.is_sounding


class Room:
    """An ear in a room, and the walk it belongs to, which is in one mode throughout."""

    def __init__(
        self, sound: Iterable[Block], mode: Mode = Mode.WALKING, *, is_live: bool = False
    ) -> None:
        self.recogniser = FakeRecogniser(WORDS)
        self.microphone = FakeMicrophone(sound, is_live=is_live)
        self.voice = OwnVoice()
        self.has_headphones = False
        self.mode = mode

    def run(self, make: Recogniser | ModelError | None = None) -> list[Input]:
        """Let it hear everything; return what came of it, without the line that it is ready."""
        ear = Ear(
            lambda _report: self.microphone,
            ChosenEar("Ready.", lambda: self._made(make)),
            lambda: level_activity,
            speaking_by(self.voice),
            HearingSettings(
                has_headphones=self.has_headphones, through_words=LEAVING, ask_back_words=LEAVING
            ),
        )
        inbox: queue.Queue[Input] = queue.Queue(1000)
        ear.follow(self.mode, 40)
        ear.start(inbox)
        given: list[Input] = []
        while not given or given[-1].kind != "closed":
            given.append(inbox.get(timeout=10))
            if given[-1].kind == "command":
                assert inbox.empty() or self.microphone.is_live, "a recording waits its turn"
                ear.follow(self.mode, 40)
        ear.close()
        return [each for each in given[:-1] if each.text != "Ready."]

    def _made(self, make: Recogniser | ModelError | None) -> Recogniser:
        if isinstance(make, ModelError):
            raise make
        return make or self.recogniser


def speaking_by(voice: Voice) -> Presenter:
    return Presenter(Console(io.StringIO()), voice, Style())


def commands(given: list[Input]) -> list[str]:
    return [each.text for each in given if each.kind == "command"]


def test_commands_come_in_order_each_when_the_one_before_was_taken() -> None:
    """A recording of four words is four commands by voice, and nothing else."""
    given = Room(blocks(said(DONE, DONE, BACK, DONE))).run()
    assert given == [Input("command", word, "voice") for word in ("done", "done", "back", "done")]


def test_what_is_no_command_is_told_by_a_line() -> None:
    """An isolated sound that is no word is refused, and printed with its reason."""
    (given,) = Room(blocks(said(NONSENSE))).run()
    assert given == Input("refused", "Not taken: not one of the words listened for.", "voice")


def test_talk_does_not_set_off_a_fanfare() -> None:
    """Of many refused sounds one is told every two seconds at most."""
    given = Room(blocks(said(*[NONSENSE] * 12, pause=0.4))).run()
    # 12 sounds of 0.4 s and 0.4 s of pause take 9.6 s.
    assert 3 <= len(given) <= 5


def test_numbers_count_only_where_a_number_is_wanted() -> None:
    """While threading, "two" is talk; at a count it is the count."""
    assert commands(Room(blocks(said(TWO))).run()) == []
    assert commands(Room(blocks(said(TWO)), Mode.COUNTING).run()) == ["two"]


def test_numbers_said_with_short_pauses_are_one_row() -> None:
    """Digit by digit, as each shaft is felt; a long pause begins another."""
    sound = said(TWO, FOUR, TWO, pause=0.5) + room(1.0) + said(FOUR)
    assert commands(Room(blocks(sound), Mode.READING).run()) == ["two four two", "four"]


def test_a_row_with_a_hole_is_dropped_whole() -> None:
    """One word not understood in the middle would make it another row."""
    given = Room(blocks(said(TWO, NONSENSE, TWO, pause=0.5)), Mode.READING).run()
    assert commands(given) == ["two"]
    assert given[0].kind == "refused"


def test_a_row_that_a_key_has_overtaken_is_dropped() -> None:
    """The count was keyed while the number was said: it must not count again in the next group."""
    room_ = Room([])

    def sound() -> Iterator[Block]:
        yield from blocks(said(FOUR, pause=0.5))
        ear_modes.append(Mode.WALKING)
        yield from blocks(room(2.0))

    ear_modes: list[Mode] = []
    ear = Ear(
        lambda _report: FakeMicrophone(follow(sound(), ear_modes, lambda m: ear.follow(m, 40))),
        ChosenEar("Ready.", lambda: room_.recogniser),
        lambda: level_activity,
        speaking_by(room_.voice),
        HearingSettings(),
    )
    inbox: queue.Queue[Input] = queue.Queue(1000)
    ear.follow(Mode.COUNTING, 40)
    ear.start(inbox)
    kinds = []
    while "closed" not in kinds:
        kinds.append(inbox.get(timeout=10).kind)
    assert "command" not in kinds


def follow(sound: Iterator[Block], modes: list[Mode], turn: object) -> Iterator[Block]:
    """Yield sound, and turn to a mode as soon as there is one."""
    assert callable(turn)
    for block in sound:
        while modes:
            turn(modes.pop())
        yield block


def with_voice(room_: Room, parts: Iterable[tuple[bytes, bool]]) -> Iterator[Block]:
    """Yield sound of which some comes while our own voice sounds."""
    for sound, is_sounding in parts:
        room_.voice.is_sounding = is_sounding
        yield from blocks(sound)


SPEAKING = ((room(1.0), False), (said(STOP, DONE), True), (said(BACK), False))


def test_it_is_deaf_while_our_own_voice_sounds() -> None:
    """What is said meanwhile does not count; what is said after does."""
    room_ = Room([], is_live=True)
    room_.microphone = FakeMicrophone(with_voice(room_, SPEAKING), is_live=True)
    assert commands(room_.run()) == ["back"]


def test_with_headphones_leaving_gets_through() -> None:
    """Only that, and it is asked back."""
    room_ = Room([], is_live=True)
    room_.has_headphones = True
    room_.microphone = FakeMicrophone(with_voice(room_, SPEAKING), is_live=True)
    given = [each for each in room_.run() if each.kind == "command"]
    assert given == [
        Input("command", "stop", "voice", asks_back=True),
        Input("command", "back", "voice"),
    ]


def test_a_word_with_a_gap_in_it_does_not_count() -> None:
    """Sound was lost inside the word: it may have been another."""
    torn = blocks(said(DONE))
    torn[40] = torn[40]._replace(is_after_gap=True)
    assert hum(DONE)[:1024] in torn[40].pcm16 or torn[40].pcm16 != room(1.0)[:1024]
    assert commands(Room(torn).run()) == []


def test_what_was_said_while_the_model_loaded_is_dropped() -> None:
    """The microphone is told to skip it, once."""
    room_ = Room(blocks(said(DONE)))
    room_.run()
    assert room_.microphone.skipped == 1


def test_a_recogniser_that_breaks_is_told_once_and_may_mend() -> None:
    """Three broken sounds are one line, and the next word counts when it works again."""
    room_ = Room([])

    def sound() -> Iterator[Block]:
        room_.recogniser.is_broken = True
        yield from blocks(said(DONE, DONE, DONE))
        room_.recogniser.is_broken = False
        yield from blocks(said(BACK))

    room_.microphone = FakeMicrophone(sound())
    given = room_.run()
    assert [each.kind for each in given] == ["notice", "command"]
    assert given[0].text == "The fake recogniser is broken. Mend it."


def test_a_recogniser_that_does_not_load_ends_the_ear_alone() -> None:
    """One line says why and what goes on."""
    (given,) = Room(blocks(said(DONE))).run(ModelError("The model is damaged."))
    assert given.kind == "notice"
    assert given.text == "The model is damaged. The walk goes on by key and pedal."


def test_whatever_native_code_throws_ends_the_ear_alone() -> None:
    """Not even an error nobody foresaw stops the walk, or leaves it waiting for the ear."""

    class Broken(FakeRecogniser):
        def feed(self, pcm16: bytes) -> None:
            message = f"no room for {len(pcm16)} bytes"
            raise RuntimeError(message)

    (given,) = Room(blocks(said(DONE))).run(Broken(WORDS))
    assert given.kind == "notice"
    assert given.text.startswith("Listening failed (RuntimeError: no room for ")
    assert given.text.endswith("The walk goes on by key and pedal.")


def test_commands_the_model_cannot_hear_are_named() -> None:
    """Words missing from the model are found at the start."""
    room_ = Room(blocks(said(DONE)))
    room_.recogniser.lacks = forms_of(Kind.UNDO, "en")
    assert room_.run()[0].text == "Not heard here, but given by key: undo."


def test_a_late_source_is_told_the_mode_it_missed() -> None:
    """It is made beside the walk, and starts with what the walk waits for by then."""
    made: list[tuple[Mode, int]] = []

    class Source:
        def start(self, inbox: queue.Queue[Input]) -> None:
            inbox.put(Input("closed", "", "voice"))

        def follow(self, mode: Mode, largest_end: int) -> None:
            made.append((mode, largest_end))

        def close(self) -> None:
            """Nothing to give back."""

    late = LateSource(Source, "voice")
    late.follow(Mode.COUNTING, 40)
    inbox: queue.Queue[Input] = queue.Queue()
    late.start(inbox)
    assert inbox.get(timeout=5).kind == "closed"
    late.follow(Mode.WALKING, 40)
    late.close()
    assert made == [(Mode.COUNTING, 40), (Mode.WALKING, 40)]


def test_a_late_source_that_cannot_be_made_is_one_line() -> None:
    """The fault is told and the source counts as closed."""

    def fail() -> Ear:
        raise ModelError("Spoken commands are not set up.")

    late = LateSource(fail, "voice")
    inbox: queue.Queue[Input] = queue.Queue()
    late.start(inbox)
    assert inbox.get(timeout=5) == Input("notice", "Spoken commands are not set up.", "voice")
    assert inbox.get(timeout=5).kind == "closed"
    late.close()


def test_a_loud_room_is_told_once() -> None:
    """Sounds 11 dB above it, refused one after the other; in a quiet room they are not told of."""
    quiet = np.frombuffer(said(*[NONSENSE] * 7, pause=2.0), "<i2") * 0.5
    loud = quiet + np.random.default_rng(1).normal(0, 800, len(quiet))
    told = [
        [given.text for given in Room(blocks(sound.astype("<i2").tobytes())).run()]
        for sound in (quiet, loud)
    ]
    assert [texts.count(LOUD_ROOM) for texts in told] == [0, 1]
    assert told[1].index(LOUD_ROOM) >= 1
