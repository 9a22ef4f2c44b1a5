"""The check before a walk: what is heard, what is refused and why, and how loud and late it is."""

from collections.abc import Iterator
from pathlib import Path
from statistics import median_low

from companion.base.errors import ModelError
from companion.base.lines import Tell
from companion.command import Kind, parse
from companion.devices.audio.microphone import Block
from companion.devices.audio.tones import NOTES, ToneName
from companion.devices.hearing.hearing import Accepted, Judgement
from companion.devices.hearing.listener import Listener
from companion.devices.hearing.settings import FRAME_BYTES, FRAME_SECONDS, HearingSettings
from companion.devices.hearing.tail import TailMeter
from companion.devices.recogniser.activity import voice_activity
from companion.devices.recogniser.interface import Recogniser, Refusal
from companion.devices.speech import Voice
from companion.session.listening import figures, microphone
from companion.session.measured import keep_tail
from companion.session.recognisers import choose, problems
from companion.session.spoken import commands, to_ask_for, vocabulary
from companion.settings import Settings
from companion.wording import hearing as wording

LEVEL_SECONDS = 10.0
GOOD_SNR_DECIBELS = 20.0
LOUDEST_DBFS = -3.0
_ASK_SURER = frozenset({Refusal.UNSURE, Refusal.TALK})
_BEFORE_ITS_END = frozenset({Refusal.JOINED, Refusal.LONG, Refusal.SPEAKING})
"""Why a sound is refused while it goes on, so that nobody knows yet how long it lasts."""


def check_ear(
    settings: Settings,
    audio_in: Path | None,
    tell: Tell,
    voice: Voice,
    *,
    must_hear: bool,
    has_tones: bool = True,
) -> None:
    """Listen until the recording ends or Ctrl-C, and tell all of it, one line each.

    The first word of a line tells its kind: Ready, Tones, Loudspeaker, Say, Heard, Refused, Level
    or Trouble. From a microphone the tail of the loudspeaker is measured first, if it `has_tones`.

    Raises:
        CompanionError: the recording cannot be read; or, where it `must_hear`, what should
            recognise words is not set up. Otherwise lengths and levels are told without it.
    """
    source = microphone(settings, audio_in, lambda line: tell(wording.trouble(line)))
    recogniser = _recogniser(settings, tell, must_hear=must_hear)
    blocks = source.blocks()
    try:
        if source.is_live and has_tones:
            set_tail(settings, blocks, voice, tell)
        if source.is_live:
            tell(wording.say_any(to_ask_for(Kind.DONE, settings.hearing.language)))
        _listen(settings, blocks, recogniser, tell)
    except KeyboardInterrupt:
        source.close()


def set_tail(settings: Settings, blocks: Iterator[Block], voice: Voice, tell: Tell) -> None:
    """Measure the tail of the loudspeaker and keep it for this one, or tell why not."""
    tell(wording.BE_QUIET)
    tail = measure_tail(blocks, voice)
    if tail is None:
        tell(wording.NOT_HEARD)
        return
    keep_tail(settings.audio.output_device, tail)
    tell(wording.tail_set(tail))


def _listen(
    settings: Settings, blocks: Iterator[Block], recogniser: Recogniser, tell: Tell
) -> None:
    words = vocabulary(settings.hearing.language, None)
    listener = Listener(recogniser, voice_activity(), words, figures(settings))
    meter = Meter(listener)
    try:
        for block in blocks:
            if block.is_after_gap:
                listener.gap()
            for report in listener.feed(block.pcm16):
                tell(told(report, settings.hearing.language))
            for line in meter.lines():
                tell(line)
    finally:
        if meter.is_worth_a_last_line:
            tell(meter.line())


def _recogniser(settings: Settings, tell: Tell, *, must_hear: bool) -> Recogniser:
    """Return what listens; without one only lengths and levels are told."""
    try:
        choice = choose(settings.hearing.recogniser, settings.hearing.language)
    except ModelError as error:
        if must_hear:
            raise
        tell(wording.trouble(error))
        return Recogniser()
    tell(wording.ready(choice.line))
    recogniser = choice.make()
    for problem in problems(recogniser, settings.hearing.language):
        tell(wording.trouble(problem))
    return recogniser


def told(report: Judgement, language: str) -> str:
    """Return one report as a line; where another form is surer, with that."""
    if isinstance(report, Accepted):
        return wording.heard(report.words, asks_back=report.asks_back)
    is_over = report.refusal not in _BEFORE_ITS_END
    seconds = report.end_seconds - report.start_seconds if is_over else 0.0
    surer = _surer(report.nearest, language) if report.refusal in _ASK_SURER else ""
    return wording.refused(report.refusal, report.nearest, surer, seconds)


def _surer(form: str, language: str) -> str:
    """Return the form of the same command that is safest for the ear, if that is another one."""
    if form not in commands(language).phrases:
        return ""
    surest = to_ask_for(Kind(parse(form, language).kind), language)
    return surest if surest != form else ""


class Meter:
    """How loud the room and the weaver are."""

    def __init__(self, listener: Listener) -> None:
        self._listener = listener
        self._loudest = -100.0
        self._due = LEVEL_SECONDS

    def lines(self) -> Iterator[str]:
        """Take the newest level; yield a line where one is due."""
        self._loudest = max(self._loudest, self._listener.level_dbfs)
        if self._listener.hearing.seconds >= self._due:
            self._due += LEVEL_SECONDS
            yield self.line()
            self._loudest = -100.0

    @property
    def is_worth_a_last_line(self) -> bool:
        """Whether no line was told yet, or enough was heard since to judge by."""
        since = self._listener.hearing.seconds - (self._due - LEVEL_SECONDS)
        return self._due == LEVEL_SECONDS or since >= LEVEL_SECONDS / 2

    def line(self) -> str:
        """Return the levels and what to do about them."""
        room, loudest = self._listener.hearing.floor_dbfs, self._loudest
        return wording.level(room, loudest, _advice(room, loudest))


def _advice(room: float, loudest: float) -> str:
    if loudest > LOUDEST_DBFS:
        return wording.TOO_LOUD
    if loudest - room < GOOD_SNR_DECIBELS:
        return wording.TOO_FAINT
    return wording.LOUD_ENOUGH


_TONE = ToneName.FINISH
_TIMES = 3
_QUIET_SECONDS = 0.5
"""How much of the room is heard before each tone."""
_LONGEST_SECONDS = 8.0
"""A tone that has not ended by then is given up."""
_MOST_APART_SECONDS = 0.25


def measure_tail(blocks: Iterator[Block], voice: Voice) -> float | None:
    """Return the tail to be set, in seconds; None where the microphone does not hear the tone.

    The longest of the tones heard counts, and one frame more; two of three must be heard. One that
    a busy machine held up far beyond the others is left out.
    """
    frames = _frames(blocks, voice)
    tails = [tail for _ in range(_TIMES) if (tail := _one_tail(frames, voice)) is not None]
    if len(tails) < _TIMES - 1:
        return None
    usual = median_low(tails)
    longest = max(tail for tail in tails if tail <= usual + _MOST_APART_SECONDS)
    return max(HearingSettings().tail_seconds, longest + FRAME_SECONDS)


def _one_tail(frames: Iterator[tuple[bytes, bool]], voice: Voice) -> float | None:
    meter = TailMeter(NOTES[_TONE][-1].hertz)
    for count, (frame, is_sounding) in enumerate(frames, 1):
        meter.frame(frame, is_sounding=is_sounding)
        if count == HearingSettings.frames(_QUIET_SECONDS):
            voice.play([_TONE])
        if meter.is_over or count * FRAME_SECONDS > _LONGEST_SECONDS:
            break
    return meter.tail_seconds


def _frames(blocks: Iterator[Block], voice: Voice) -> Iterator[tuple[bytes, bool]]:
    """Yield the sound frame by frame, each with whether our voice is held to be sounding."""
    rest = b""
    for block in blocks:
        rest += block.pcm16
        while len(rest) >= FRAME_BYTES:
            frame, rest = rest[:FRAME_BYTES], rest[FRAME_BYTES:]
            yield frame, voice.is_speaking
