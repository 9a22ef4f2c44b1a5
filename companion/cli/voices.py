"""The command that plays the voices: voices."""

import random
import sys
from pathlib import Path

import click

from companion.cli.options import AUDIO_OUT
from companion.session.voice_trial import QUIT, Trial, trial
from companion.settings import Settings, load, save, set_value
from companion.wording.voices import NAMES

_ONLY_ONE = "Only the system's voice is here. To hear a natural one too: pip install hibari-tts"
_WHICH = "Which one? Type 1 or 2 and press Enter; r plays both again; Enter alone leaves it."
_FOUND = (
    "Your own speed is {} words a minute, a little below the fastest at which you had the numbers "
    "right. Press Enter to keep it, or type n."
)


@click.command()
@click.option("--weaver", default="", help="Who chooses; it is then kept for her alone.")
@click.option(
    "--find-rate",
    is_flag=True,
    help="Find your own speed instead: numbers are said ever faster, and you type them.",
)
@AUDIO_OUT
def voices(weaver: str, *, find_rate: bool, audio_out: Path | None) -> None:
    """Hear the same callouts by each voice, and choose the one that walks with you.

    With --find-rate, find the speed at which you still take in every number.

    \b
    companion voices
    companion voices --find-rate --weaver anna
    """
    settings = load()
    own = settings.of(weaver)
    with trial(own, click.echo, audio_out) as heard:
        key, value = _rate(heard, own) if find_rate else _engine(heard)
        if not value:
            heard.say("It stays as it was.")
            return
        place = f"weavers.{weaver}" if weaver else "speech"
        save(set_value(settings, f"{place}.{key}", value))
        whose = f" for {weaver}" if weaver else ""
        heard.say(f"Kept{whose}: {NAMES.get(value, f'{value} words a minute')}.")  # type: ignore[call-overload]


def _engine(heard: Trial) -> tuple[str, str]:
    heard.say_by_each()
    if len(heard.engines) == 1:
        heard.say(_ONLY_ONE)
        return "engine", ""
    heard.say(_WHICH)
    while (typed := _typed()) not in {"", QUIT}:
        if typed in {"1", "2"}:
            engine = heard.engines[int(typed) - 1]
            heard.use(engine)
            return "engine", engine
        if typed == "r":
            heard.say_by_each()
        heard.say(_WHICH)
    return "engine", ""


def _rate(heard: Trial, settings: Settings) -> tuple[str, str]:
    rate = heard.find_rate(settings.speech.words_per_minute, _typed, random.SystemRandom())
    if not rate:
        return "words_per_minute", ""
    heard.say(_FOUND.format(rate))
    return "words_per_minute", "" if _typed() in {"n", "no", QUIT} else str(rate)


def _typed() -> str:
    """Return a line that was typed, in small letters; `QUIT` at the end of input."""
    line = sys.stdin.readline()
    return line.strip().casefold() if line else QUIT
