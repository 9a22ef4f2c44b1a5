"""When a sound is cut out as a possible command. Times are the settings' own; no sound is used."""

from __future__ import annotations

import pytest

from companion.devices.hearing.segmenter import Begun, Cut, Dropped, Ended, Segmenter
from companion.devices.hearing.settings import FRAME_SECONDS, HearingSettings
from companion.devices.recogniser.interface import Refusal

ROOM = (0.02, -60.0)
VOICE = (0.95, -26.0)
SETTINGS = HearingSettings()


def run(segmenter: Segmenter, *parts: tuple[tuple[float, float], float]) -> list[Cut]:
    """Feed (probability, level) for some seconds each; return what came out."""
    frames = [frame for frame, seconds in parts for _ in range(round(seconds / FRAME_SECONDS))]
    return [cut for frame in frames if (cut := segmenter.frame(*frame)) is not None]


def refusals(cuts: list[Cut]) -> list[Refusal]:
    return [cut.refusal for cut in cuts if isinstance(cut, Dropped)]


def test_a_word_between_silences_is_cut_out_with_its_bounds() -> None:
    """A half second word after a second of silence begins and ends once, within a frame."""
    begun, ended = run(Segmenter(SETTINGS), (ROOM, 1.0), (VOICE, 0.5), (ROOM, 0.5))
    assert isinstance(begun, Begun)
    assert isinstance(ended, Ended)
    assert ended.start_seconds == pytest.approx(1.0, abs=FRAME_SECONDS)
    assert ended.end_seconds == pytest.approx(1.5, abs=FRAME_SECONDS)


def test_a_sound_ends_a_quarter_of_a_second_after_it_falls_silent() -> None:
    """The decision is due within 0.25 s of silence: the budget from word to answer rests on it."""
    segmenter = Segmenter(SETTINGS)
    run(segmenter, (ROOM, 1.0), (VOICE, 0.5))
    waits = [n for n in range(1, 20) if isinstance(segmenter.frame(*ROOM), Ended)]
    assert waits[0] * FRAME_SECONDS <= 0.25


def test_a_closed_consonant_does_not_split_a_word() -> None:
    """A gap of 0.13 s, as in the middle of "accept", stays inside one sound."""
    cuts = run(
        Segmenter(SETTINGS), (ROOM, 1.0), (VOICE, 0.2), (ROOM, 0.13), (VOICE, 0.2), (ROOM, 0.5)
    )
    assert [type(cut) for cut in cuts] == [Begun, Ended]


def test_running_talk_is_given_up_and_told_once() -> None:
    """Five seconds of talk is one refusal for its length and never a command."""
    cuts = run(Segmenter(SETTINGS), (ROOM, 1.0), (VOICE, 5.0), (ROOM, 1.0))
    assert refusals(cuts) == [Refusal.LONG]
    assert not any(isinstance(cut, Ended) for cut in cuts)


def test_the_last_words_of_a_sentence_are_not_a_command() -> None:
    """A word that follows talk without the gap before it is refused as joined."""
    segmenter = Segmenter(SETTINGS)
    segmenter.know_voice(-26.0)
    cuts = run(segmenter, (ROOM, 1.0), (VOICE, 3.0), (ROOM, 0.26), (VOICE, 0.5), (ROOM, 1.0))
    assert refusals(cuts) == [Refusal.LONG, Refusal.JOINED]


def test_a_command_right_after_the_weavers_own_chatting_is_noticed() -> None:
    """Once her commands are known to be as loud as her talk, talk does not raise the floor."""
    segmenter = Segmenter(SETTINGS)
    segmenter.know_voice(-26.0)
    cuts = run(segmenter, (ROOM, 1.0), (VOICE, 5.0), (ROOM, 0.4), (VOICE, 0.5), (ROOM, 0.4))
    assert isinstance(cuts[-1], Ended)


def test_a_click_is_too_short() -> None:
    """The beat of a batten, two frames long, is refused."""
    assert refusals(run(Segmenter(SETTINGS), (ROOM, 1.0), (VOICE, 0.064), (ROOM, 0.5))) == [
        Refusal.SHORT
    ]


def test_a_row_of_digits_may_be_longer_than_a_command() -> None:
    """Four seconds is refused for a command, taken where numbers are listened for."""
    parts = ((ROOM, 1.0), (VOICE, 4.0), (ROOM, 0.5))
    commands, numbers = Segmenter(SETTINGS), Segmenter(SETTINGS)
    numbers.allows_long = True
    assert refusals(run(commands, *parts)) == [Refusal.LONG]
    assert isinstance(run(numbers, *parts)[-1], Ended)


def test_a_radio_in_the_background_does_not_hide_a_word() -> None:
    """Steady talk 20 dB under the weaver becomes the noise floor; her word is still cut out."""
    radio = (0.9, -46.0)
    segmenter = Segmenter(SETTINGS)
    run(segmenter, (radio, 6.0))
    assert isinstance(run(segmenter, (VOICE, 0.5), (radio, 0.5))[-1], Ended)


def test_talk_as_loud_as_the_noise_does_not_begin_a_sound() -> None:
    """A voice 4 dB above the floor is the room's, not the weaver's."""
    segmenter = Segmenter(SETTINGS)
    run(segmenter, ((0.9, -46.0), 6.0))
    assert run(segmenter, ((0.9, -42.0), 0.5), ((0.9, -46.0), 0.5)) == []


def test_commands_in_a_row_do_not_raise_the_floor() -> None:
    """Sixty half second words, each after 0.6 s of silence, are all cut out."""
    parts = [part for _ in range(60) for part in ((VOICE, 0.5), (ROOM, 0.6))]
    cuts = run(Segmenter(SETTINGS), (ROOM, 1.0), *parts)
    assert sum(isinstance(cut, Ended) for cut in cuts) == 60


def test_a_broken_off_sound_never_ends() -> None:
    """After lost sound the word under way is dropped, and what follows needs its gap anew."""
    segmenter = Segmenter(SETTINGS)
    run(segmenter, (ROOM, 1.0), (VOICE, 0.3))
    segmenter.break_off()
    assert refusals(run(segmenter, (VOICE, 0.3), (ROOM, 0.5))) == [Refusal.JOINED]
