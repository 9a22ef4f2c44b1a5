"""The way from a plan to a sound file that a plain player reads aloud."""

from functools import partial
from pathlib import Path
from typing import Final

import click

from companion.base.errors import CompanionError
from companion.cli.walking import usable_settings
from companion.devices.speech.make import make_clips
from companion.job import StageName, stage, stages
from companion.loom.dressing import Dressing
from companion.out.paper.book import chapters
from companion.out.paper.marks import clock
from companion.out.paper.sound_book import write_book
from companion.session.setup import style_of

WALKED: Final[dict[str, StageName]] = {"threading": "thread", "sleying": "sley"}


def read_aloud(
    dressing: Dressing, to: Path, wanted: tuple[str, ...], pause: float, rate: int | None
) -> None:
    """Read the walk of a plan, or the stages wanted of it, into a sound file."""
    silent = [each for each in wanted if each not in WALKED]
    if silent:
        raise CompanionError(
            f"Expected threading or sleying in a sound file, not {', '.join(silent)}. "
            "Leave --stage out for the whole walk."
        )
    names = tuple(WALKED[each] for each in wanted) or stages(dressing)
    settings = usable_settings().but(words_per_minute=rate)
    style = style_of(settings)
    book = (
        each
        for name in names
        for each in chapters(stage(dressing, name), style, pause, has_cautions=name == names[0])
    )
    tell = partial(click.echo, err=True)
    clips = make_clips(settings.speech.engine, settings.speech.voice, tell)
    try:
        written = write_book(to, dressing.title, book, clips, style.words_per_minute)
    finally:
        clips.close()
    click.echo(f"Wrote {to}: {len(written.marks)} chapters, {clock(written.seconds)} long.")
    click.echo(f"Wrote {written.contents}, the list of chapters.")
