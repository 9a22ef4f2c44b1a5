"""Everything a sitting needs around it: settings, voice, console and sources, from what was asked.

The only place where settings and command-line wishes become devices.
"""

import logging
import sys
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from companion.base.errors import CompanionError
from companion.base.lines import Tell
from companion.base.value import Value
from companion.command.size import read_size
from companion.devices.speech import Voice, make_voice
from companion.devices.speech.make import measured_voice
from companion.guide.state import Options
from companion.record import Journal, worked
from companion.session.inputs import DeviceSource, InputSource, LateSource, LineSource
from companion.session.presenter import Console, Presenter
from companion.session.session_lookup import stages_of
from companion.settings import Settings, load_usable, save, set_value
from companion.wording import Style
from companion.wording.notices import kept_for_next

_log = logging.getLogger(__name__)
LAST_WORDS_SECONDS = 20.0
"""The longest wait for the last callout to be heard before the voice is closed."""


class Knows(NamedTuple):
    """What a weaver has heard before, and need not hear whole again."""

    work: bool = False
    """Another session, so that she needs no introduction."""
    cautions: bool = False
    """The general cautions, in any session but the trial of a demo plan."""
    weaving: bool = False
    """The cautions of weaving; looked for only where a session weaves."""


def known(journal: Journal) -> Knows:
    """Return what the weaver of a session knows from it and the others of its folder."""
    is_trial = bool(journal.options.get("is_trial"))
    is_woven = "weave" in stages_of(journal)
    knows = Knows(cautions=is_trial)
    for each in worked(journal.path.parent, journal.weaver):
        knows = Knows(
            work=knows.work or each.path != journal.path,
            cautions=knows.cautions or not each.is_trial,
            weaving=knows.weaving or ("weave" in each.stages and not is_trial),
        )
        if knows.work and knows.cautions and (knows.weaving or not is_woven):
            break  # each session to look through costs time before the first line
    return knows


class Wishes(Value):
    """What the weaver asked for on the command line, beside the settings."""

    is_silent: bool = False
    audio_out: Path | None = None
    has_lines: bool = False
    """Whole lines from a terminal too, instead of single keys."""
    audio_in: Path | None = None
    """Hear this recording instead of the microphone."""
    weaver: str = ""
    """Who is at the loom; a speed she chooses is kept for her."""
    must_hear: bool = False
    """Whether it is a fault, not just a pity, when spoken commands cannot be heard."""


def options_of(settings: Settings, knows: Knows) -> Options:
    """Return the guide's options for a weaver, from the settings."""
    walk = settings.walk
    return Options(
        ask_counts=walk.ask_counts,
        demand_counts=walk.demand_counts,
        pace_seconds=walk.pace_seconds,
        size=read_size(walk.step),
        detail=walk.detail,
        say_unit=walk.say_unit,
        say_cross=walk.say_cross,
        say_knot=walk.say_knot,
        ask_left=walk.ask_left,
        cautions=walk.cautions,
        stage_cautions=walk.cautions,
        knows_cautions=knows.cautions,
        knows_weaving=knows.weaving,
        opening="brief" if knows.work else "first",
        tell_help=not knows.work,
    )


@contextmanager
def set_up(
    settings: Settings, wishes: Wishes
) -> Iterator[tuple[Presenter, tuple[InputSource, ...]]]:
    """Open the voice and the sources, and close them in good order, the last words heard."""
    console = Console(sys.stdout)

    def tell(line: str) -> None:
        _log.warning(line)
        console.line(line)

    with ExitStack() as ending:
        voice = ending.enter_context(opened_voice(settings, wishes, tell))
        presenter = presenter_of(settings, voice, console)
        sources = _sources(settings, wishes, tell, ending)
        sources += _ear(settings, wishes, presenter)
        yield presenter, sources
        voice.wait(LAST_WORDS_SECONDS)
        remember(presenter, console, wishes.weaver)


def remember(presenter: Presenter, console: Console, weaver: str) -> None:
    """Keep the speed, step, detail or pace that were changed during the walk for the next one."""
    settings, faults = load_usable()
    if faults or not presenter.wishes:  # a file with faults is left for the weaver to mend
        return
    for key, value in presenter.wishes.items():
        own = f"weavers.{weaver}.{key.rpartition('.')[2]}"
        settings = set_value(settings, own if weaver else key, value)
    try:
        save(settings)
    except CompanionError as error:
        console.line(str(error))
        return
    console.line(kept_for_next(presenter.wishes, weaver))


def opened_voice(settings: Settings, wishes: Wishes, tell: Tell) -> closing[Voice]:
    """Open the voice, and let it go at the end; what of it does not work is told."""
    voice = make_voice(settings, tell, is_silent=wishes.is_silent, audio_out=wishes.audio_out)
    return closing(voice)


def presenter_of(
    settings: Settings, voice: Voice, console: Console, *, is_typed: bool = True
) -> Presenter:
    """Return what prints on a console and speaks by a voice, as the settings have it."""
    style = replace(style_of(settings), is_typed=is_typed)
    return Presenter(console, voice, style, has_tones=settings.speech.tones)


def style_of(settings: Settings) -> Style:
    """Return how callouts are worded, from the settings."""
    speech = settings.speech
    return Style(
        speech.numbers,
        settings.hearing.language,
        measured_voice(speech.engine, speech.voice),
        speech.words_per_minute,
    )


def _sources(
    settings: Settings, wishes: Wishes, tell: Tell, ending: ExitStack
) -> tuple[InputSource, ...]:
    sources: list[InputSource] = []
    if _has_keys(wishes) or settings.pedal.device:
        from companion.session import pressed  # noqa: PLC0415 - a walk by lines begins sooner
    if _has_keys(wishes):
        keys = pressed.keys(settings, tell)
        ending.enter_context(keys.mode())
        sources.append(DeviceSource(keys, "key"))
    elif wishes.audio_in is None or wishes.has_lines:
        sources.append(LineSource(sys.stdin))
    if settings.pedal.device:
        sources.extend(pressed.pedal(settings, tell))
    return tuple(sources)


def _has_keys(wishes: Wishes) -> bool:
    return sys.stdin.isatty() and not wishes.has_lines


def _ear(settings: Settings, wishes: Wishes, presenter: Presenter) -> tuple[InputSource, ...]:
    wanted = settings.hearing.recogniser
    is_piped = wanted == "auto" and not wishes.audio_in and not _has_keys(wishes)
    if wanted == "off" or is_piped:
        return ()

    def make() -> InputSource:
        from companion.session.listening import ear  # noqa: PLC0415 - the walk begins sooner

        return ear(settings, wishes.audio_in, presenter)

    return (make() if wishes.must_hear else LateSource(make, "voice"),)
