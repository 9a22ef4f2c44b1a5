"""Options that several commands take."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.command import LANGUAGES

if TYPE_CHECKING:
    from collections.abc import Callable

FILE = click.Path(path_type=Path, dir_okay=False)
FOLDER = click.Path(path_type=Path, exists=True, file_okay=False)
TEXT = click.option("--text", is_flag=True, help="Print only; say nothing aloud.")
RATE = click.option("--rate", type=click.IntRange(80, 450), help="Words a minute of the voice.")
AUDIO_OUT = click.option(
    "--audio-out",
    type=FILE,
    metavar="FILE.wav",
    help="Write what would be heard to a sound file instead of the loudspeaker.",
)
AUDIO_IN = click.option(
    "--audio-in",
    type=FILE,
    metavar="FILE.wav",
    help="Hear a recording instead of the microphone.",
)
LANGUAGE = click.option(
    "--language", type=click.Choice(LANGUAGES), help="The language of the commands."
)


def begins_at(
    metavar: str, told: str, *, option: str = "--from"
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return the option of where a walk begins on work that is half done."""
    return click.option(option, "from_end", type=click.IntRange(min=1), metavar=metavar, help=told)
