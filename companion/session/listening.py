"""What is needed to listen: microphone, detector and figures, from the settings."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Final

from companion.base.lines import Tell
from companion.command import Kind
from companion.devices.audio.capture import NO_INPUT, TRIED_AGAIN, DeviceMicrophone
from companion.devices.audio.devices import choose as choose_device
from companion.devices.audio.microphone import Block, FileMicrophone, Microphone
from companion.devices.audio.portaudio import portaudio
from companion.devices.hearing.hearing import Judgement
from companion.devices.hearing.listener import Listener
from companion.devices.hearing.settings import HearingSettings
from companion.devices.recogniser.activity import voice_activity
from companion.devices.speech import Voice
from companion.session.ear import Ear
from companion.session.measured import tail_of
from companion.session.presenter import Presenter
from companion.session.recognisers import ChosenEar, choose
from companion.session.spoken import forms_of
from companion.settings import Settings
from companion.wording import notices

DISTANT_TAIL_SECONDS: Final = 0.25
"""Sound from elsewhere comes late: 50 to 90 ms were measured in a browser, beside the network."""


def ear(settings: Settings, audio_in: Path | None, presenter: Presenter) -> Ear:
    """Return the ear of a walk, deaf to the presenter.

    Raises AudioError for an unreadable recording, ModelError where nothing recognises words.
    """
    choice = choose(settings.hearing.recogniser, settings.hearing.language)
    recording = FileMicrophone(audio_in) if audio_in else None
    return Ear(
        lambda report: recording or _device(settings, report, meanwhile=notices.NOT_HEARD),
        choice,
        voice_activity,
        presenter,
        figures(settings),
    )


def distant_ears(settings: Settings, presenter: Presenter) -> Callable[[Microphone], Ear]:
    """Return what makes the ear for a microphone elsewhere; what recognises is loaded once.

    What it returns raises ModelError where what should recognise words is not set up.
    """

    @cache
    def choice() -> ChosenEar:
        chosen = choose(settings.hearing.recogniser, settings.hearing.language)
        return replace(chosen, make=cache(chosen.make))

    own = figures(settings)
    late = replace(own, tail_seconds=max(own.tail_seconds, DISTANT_TAIL_SECONDS))
    return lambda microphone: Ear(lambda _: microphone, choice(), voice_activity, presenter, late)


class Asking:
    """What asks aloud and listens to what is said then; the microphone is deaf to the voice."""

    def __init__(
        self, microphone: Microphone, listener: Listener, voice: Voice, tell: Tell
    ) -> None:
        self._microphone = microphone
        self._blocks = microphone.blocks()
        self._listener = listener
        self._voice = voice
        self._tell = tell

    def _heard(self, block: Block) -> list[Judgement]:
        if block.is_after_gap:
            self._listener.gap()
        if self._microphone.is_live:
            self._listener.hearing.mind_voice(is_sounding=self._voice.is_speaking)
        return self._listener.feed(block.pcm16)

    def _prompt(self, line: str) -> None:
        self._tell(line)
        self._voice.play([line], interrupt=False)


def microphone(settings: Settings, audio_in: Path | None, report: Tell) -> Microphone:
    """Return the recording, or the microphone where there is none."""
    return FileMicrophone(audio_in) if audio_in else _device(settings, report)


def microphone_to_ask_at(settings: Settings, audio_in: Path | None, report: Tell) -> Microphone:
    """Return the same; AudioError where no microphone is there, as nobody could answer."""
    if audio_in is None:
        choose_device(portaudio().inputs(), settings.audio.input_device, NO_INPUT)
    return microphone(settings, audio_in, report)


def _device(settings: Settings, report: Tell, meanwhile: str = TRIED_AGAIN) -> Microphone:
    return DeviceMicrophone(portaudio, settings.audio.input_device, report, meanwhile=meanwhile)


def figures(settings: Settings) -> HearingSettings:
    """Return when a sound counts.

    Leaving is asked back: the one command that a misheard word would make hard to take back, for
    the program is then gone. What else could lose work is asked about by the guide.
    """
    leaving = frozenset(forms_of(Kind.STOP, settings.hearing.language))
    tail = tail_of(settings.audio.output_device)
    return HearingSettings(
        tail_seconds=HearingSettings().tail_seconds if tail is None else tail,
        has_headphones=settings.hearing.headphones,
        through_words=leaving,
        ask_back_words=leaving,
    )
