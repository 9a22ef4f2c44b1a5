"""Which recognised sounds count. The vocabulary and the times are our own choice."""

from __future__ import annotations

import pytest

from companion.devices.hearing.hearing import Accepted, Hearing, Judgement, Refused
from companion.devices.hearing.segmenter import Dropped, Ended
from companion.devices.hearing.settings import FRAME_SECONDS, HearingSettings
from companion.devices.recogniser.interface import Heard, Refusal, Vocabulary

WORDS = Vocabulary(frozenset({"done", "go back", "stop"}), frozenset({"one", "two", "thirty"}))
ROOM = (0.02, -60.0)
VOICE = (0.95, -26.0)


def hear(
    hearing: Hearing, words: str, seconds: float = 0.5, before: float = 1.0
) -> list[Judgement]:
    """Let silence and a sound pass, recognised as `words`; return every report."""
    parts = ((ROOM, before), (VOICE, seconds), (ROOM, 0.4))
    frames = [frame for frame, length in parts for _ in range(round(length / FRAME_SECONDS))]
    reports: list[Judgement] = []
    for frame in frames:
        cut = hearing.frame(*frame)
        if isinstance(cut, Ended):
            reports.append(hearing.judge(cut, Heard(words)))
        if isinstance(cut, Dropped):
            reports.append(hearing.drop(cut))
    return reports


def leaned(hearing: Hearing, nearest: str, before: float = 1.0) -> Judgement:
    """Let a sound pass that is likely `nearest`, without being sure of it."""
    return made_of(hearing, Heard("", Refusal.UNSURE, nearest, is_likely=True), before)


def made_of(
    hearing: Hearing, heard: Heard, before: float = 1.0, room: tuple[float, float] = ROOM
) -> Judgement:
    """Let a sound pass of which the recogniser makes this."""
    for frame, length in ((room, before), (VOICE, 0.5), (room, 0.4)):
        for _ in range(round(length / FRAME_SECONDS)):
            cut = hearing.frame(*frame)
            if isinstance(cut, Ended):
                return hearing.judge(cut, heard)
    raise AssertionError("no sound was cut out")


def told(
    hearing: Hearing, spare: float, before: float = 1.0, room: tuple[float, float] = ROOM
) -> Refusal | None:
    """Say "done", heard with so much to spare; return why it was refused."""
    report = made_of(hearing, Heard("done", spare=spare), before, room)
    return report.refusal if isinstance(report, Refused) else None


def talk(hearing: Hearing, sounds: int) -> None:
    """Let others say so much."""
    said = [refusal(hear(hearing, "back")) for _ in range(sounds)]
    assert said == [Refusal.UNKNOWN] * sounds


def refusal(reports: list[Judgement]) -> Refusal | None:
    (report,) = reports
    return report.refusal if isinstance(report, Refused) else None


def test_a_listed_word_counts_and_an_unlisted_one_does_not() -> None:
    """Accept and reject side by side: exact and whole, or nothing."""
    (accepted,) = hear(Hearing(HearingSettings(), WORDS), "go back")
    assert isinstance(accepted, Accepted)
    assert accepted.words == "go back"
    assert refusal(hear(Hearing(HearingSettings(), WORDS), "back")) is Refusal.UNKNOWN
    assert refusal(hear(Hearing(HearingSettings(), WORDS), "done stop")) is Refusal.UNKNOWN


def test_a_row_of_number_words_counts() -> None:
    """The weaver reads the shafts she feels: "one two one" is taken whole."""
    (accepted,) = hear(Hearing(HearingSettings(), WORDS), "one two one", seconds=3.0)
    assert isinstance(accepted, Accepted)


def test_a_long_sound_is_never_a_short_command() -> None:
    """Where numbers may be long, a word drawn from three seconds of talk is refused."""
    assert refusal(hear(Hearing(HearingSettings(), WORDS), "done", seconds=3.0)) is Refusal.LONG


def test_a_likely_word_counts_when_it_is_said_again_at_once() -> None:
    """The same one twice on end, within the time; a third begins anew, as does any other sound."""
    hearing = Hearing(HearingSettings(), WORDS)

    def told(nearest: str, before: float = 1.0) -> str:
        report = leaned(hearing, nearest, before)
        return report.words if isinstance(report, Accepted) else ""

    assert [told("done"), told("done"), told("done"), told("stop"), told("done")] == [
        *("", "done", "", "", "")
    ]
    assert told("done", before=HearingSettings().again_seconds + 1) == ""
    assert refusal(hear(hearing, "back")) is Refusal.UNKNOWN
    assert told("done") == ""


def test_a_word_must_be_surer_where_others_talk_and_less_sure_in_peace() -> None:
    """Three sounds that are no command are talk, for a minute; a word said again counts there."""
    hearing = Hearing(HearingSettings(), WORDS)
    assert [told(hearing, spare) for spare in (-0.9, 0.1)] == [None, None]
    talk(hearing, 2)
    assert told(hearing, -0.9) is None
    talk(hearing, 1)
    assert [told(hearing, spare) for spare in (0.9, 0.9)] == [Refusal.TALK, None]
    assert told(hearing, 1.1) is None
    assert told(hearing, 0.9) is Refusal.TALK
    assert told(hearing, -0.9, HearingSettings().talk_seconds) is None


def test_in_a_loud_room_a_word_needs_to_be_sure() -> None:
    """Where it hardly stands out, noise has changed it; the voice here is at -26 dBFS."""
    hearing = Hearing(HearingSettings(), WORDS)
    loud = (0.02, -41.0)
    assert [told(hearing, spare, 6.0, loud) for spare in (-0.1, 0.1)] == [Refusal.UNSURE, None]


def test_a_sentence_that_runs_on_is_talk_and_a_word_hardly_heard_is_none() -> None:
    """What is likely a command, too soft or a mere click tells nothing of others."""
    hearing = Hearing(HearingSettings(), WORDS)
    for word in ("done", "stop", "go back", "stop", "done"):
        leaned(hearing, word)
    for _ in range(3):
        assert refusal(hear(hearing, "done", seconds=0.06)) is Refusal.SHORT
    assert told(hearing, 0.0) is None
    assert [refusal(hear(hearing, "done", seconds=2.0)) for _ in range(3)] == [Refusal.LONG] * 3
    assert told(hearing, 0.0) is Refusal.TALK


def test_the_same_event_does_not_fire_twice() -> None:
    """A second "done" that begins within the dead time is refused, a later one counts."""
    hearing = Hearing(HearingSettings(), WORDS)
    assert refusal(hear(hearing, "done")) is None
    assert refusal(hear(hearing, "done", before=0.1)) is Refusal.DEAD_TIME
    assert refusal(hear(hearing, "done", before=1.0)) is None


def test_digits_spoken_one_by_one_have_no_dead_time() -> None:
    """Shafts said with short pauses are all taken."""
    hearing = Hearing(HearingSettings(), WORDS)
    hear(hearing, "done")
    assert [refusal(hear(hearing, "one", before=0.1)) for _ in range(3)] == [None] * 3


def test_it_is_deaf_while_the_companion_speaks() -> None:
    """A word said over a callout gives nothing; one after it counts."""
    hearing = Hearing(HearingSettings(), WORDS)
    hearing.mind_voice(is_sounding=True)
    assert hear(hearing, "done") == []
    hearing.mind_voice(is_sounding=False)
    assert refusal(hear(hearing, "done")) is None


def test_an_answer_given_too_early_is_refused_aloud() -> None:
    """A word begun as the callout ends is told apart from chatter, so that a tone can say so."""
    hearing = Hearing(HearingSettings(), WORDS)
    hearing.mind_voice(is_sounding=True)
    hear(hearing, "done")
    hearing.mind_voice(is_sounding=False)
    (report,) = hear(hearing, "done", before=0.2)
    assert isinstance(report, Refused)
    assert report.refusal is Refusal.SPEAKING
    assert report.is_audible


@pytest.mark.parametrize(
    ("said", "before", "expected"),
    [
        ("Mend it and say done", 0.6, Refusal.ECHO),
        ("Ends one through thirty.", 0.6, None),
        ("Say done, and go on.", 0.6, None),
        ("Mend it and say done", 1.6, None),
        ("", 0.6, None),
    ],
)
def test_what_our_own_voice_ended_on_is_no_command_at_once(
    said: str, before: float, expected: Refusal | None
) -> None:
    """Within a second after the tail the callout's last words may be its echo in the room."""
    hearing = Hearing(HearingSettings(), WORDS)
    hearing.mind_voice(is_sounding=True)
    hear(hearing, "done")
    hearing.mind_voice(said, is_sounding=False)
    reports = hear(hearing, "done", before=before)
    assert refusal(reports) is expected
    assert isinstance(reports[0], Accepted) or reports[0].is_audible


def test_a_number_that_ended_a_callout_may_be_its_echo_too() -> None:
    """ "Thirty" right after "dent thirty" is refused, another number counts."""
    hearing = Hearing(HearingSettings(), WORDS)
    for words, expected in (("thirty", Refusal.ECHO), ("two", None)):
        hearing.mind_voice(is_sounding=True)
        hear(hearing, "one")
        hearing.mind_voice("Shaft two, dent thirty.", is_sounding=False)
        assert refusal(hear(hearing, words, before=0.6)) is expected


def test_deafness_is_capped() -> None:
    """A loudspeaker that never reports its end cannot deafen the companion for ever."""
    settings = HearingSettings(longest_deaf_seconds=5.0)
    hearing = Hearing(settings, WORDS)
    hearing.mind_voice(is_sounding=True)
    assert hear(hearing, "done", before=3.0) == []
    assert refusal(hear(hearing, "done", before=3.0)) is None


@pytest.mark.parametrize(("words", "expected"), [("stop", None), ("done", Refusal.SPEAKING)])
def test_with_headphones_only_stop_gets_through(words: str, expected: Refusal | None) -> None:
    """While we speak into headphones, "stop" is acted on and all else is not."""
    hearing = Hearing(HearingSettings(has_headphones=True), WORDS)
    hearing.mind_voice(is_sounding=True)
    assert refusal(hear(hearing, words)) is expected


def test_what_must_be_confirmed_is_marked() -> None:
    """A phrase of the settings' list is accepted with the mark to ask back."""
    settings = HearingSettings(ask_back_words=frozenset({"stop"}))
    reports = hear(Hearing(settings, WORDS), "stop") + hear(Hearing(settings, WORDS), "done")
    assert [isinstance(r, Accepted) and r.asks_back for r in reports] == [True, False]


def test_chatter_is_refused_without_a_tone() -> None:
    """Running talk must not make the companion beep; a lone unknown word does."""
    hearing = Hearing(HearingSettings(), Vocabulary(frozenset({"done"})))
    hear(hearing, "done")
    (talk,) = hear(hearing, "", seconds=4.0)
    (word,) = hear(hearing, "")
    assert isinstance(talk, Refused)
    assert isinstance(word, Refused)
    assert (talk.is_audible, word.is_audible) == (False, True)
