"""The commands about spoken commands: listen and teach."""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.base.errors import CommandError
from companion.cli.walking import EARS, heard_as
from companion.command import LANGUAGES, parse
from companion.devices.audio.microphone import FileMicrophone
from companion.devices.speech import VoiceSettings, make_voice
from companion.session.book import Book
from companion.session.lesson import LessonSitting
from companion.session.level import check_ear
from companion.session.listening import microphone, voice_activity
from companion.settings import Settings, load

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.devices.speech import Voice

FEWEST_TAKES, MOST_TAKES = 3, 5

RECORDING = click.option(
    "--audio-in",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.wav",
    help="Hear a recording instead of the microphone.",
)
LANGUAGE = click.option(
    "--language", type=click.Choice(LANGUAGES), help="The language of the commands."
)


@click.command()
@RECORDING
@click.option("--ear", type=click.Choice(EARS[:-1]), help="What listens for spoken commands.")
@LANGUAGE
def listen(audio_in: Path | None, ear: str | None, language: str | None) -> None:
    """Check the microphone: print what is heard, what is refused and why, and how loud it is.

    Nothing is done with what you say. Ctrl-C ends it.
    """
    check_ear(heard_as(load(), ear, language), audio_in, click.echo, must_hear=ear is not None)


@click.command()
@click.argument("words", nargs=-1)
@click.option(
    "--takes",
    type=click.IntRange(FEWEST_TAKES, MOST_TAKES),
    default=FEWEST_TAKES,
    show_default=True,
    help="How often each word is recorded.",
)
@RECORDING
@click.option(
    "--room",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.wav",
    help="A recording of the room and of ordinary talk, to tell your words from.",
)
@LANGUAGE
@click.option("--text", is_flag=True, help="Print the prompts only; say nothing aloud.")
def teach(
    words: tuple[str, ...],
    *,
    takes: int,
    audio_in: Path | None,
    room: Path | None,
    language: str | None,
    text: bool,
) -> None:
    """Record your own way of saying each of WORDS, or all that are needed and not yet taught.

    Say them as you will at the loom. It need not be the word itself: any word or sound of yours
    will do, in any language, if you always make it alike. Ctrl-C ends; whole words are kept.
    """
    settings = heard_as(load(), None, language)
    book = Book(settings.hearing.language)
    wanted = _wanted(words, book)
    if wanted:
        _teach(settings, book, wanted, takes, audio_in, is_silent=text or audio_in is not None)
    if room is not None:
        book.keep_room(_whole(room))
    for line in book.findings():
        click.echo(line)


def _wanted(words: tuple[str, ...], book: Book) -> tuple[str, ...]:
    """Return the words to record.

    Raises:
        CommandError: one of them is no command or number, or takes more words after it.
    """
    for word in words:
        parse(word, book.language)  # says what comes closest
        if not book.may_hold(word):
            raise CommandError(f'"{word}" cannot be taught as one word; teach its parts.')
    if not words and not book.lacking:
        click.echo("Taught: all that a walk needs. To record a word anew, name it.")
    return words or book.lacking


def _teach(
    settings: Settings,
    book: Book,
    wanted: tuple[str, ...],
    takes: int,
    audio_in: Path | None,
    *,
    is_silent: bool,
) -> None:
    source = microphone(settings, audio_in, lambda line: click.echo(f"Trouble: {line}"))
    with _voice(settings, is_silent=is_silent) as voice:
        sitting = LessonSitting(source, voice_activity(), voice, click.echo)
        try:
            rest = sitting.teach(wanted, takes, book.embedder, book.keep)
            if source.is_live:
                book.keep_room(sitting.room())
        except KeyboardInterrupt:
            rest = ()
        finally:
            sitting.close()
    if rest:
        click.echo(f"Missing: the recording ended before these were done: {', '.join(rest)}.")


@contextmanager
def _voice(settings: Settings, *, is_silent: bool) -> Iterator[Voice]:
    wished = VoiceSettings(
        rate_words_per_minute=settings.speech.words_per_minute,
        engine=settings.speech.engine,
        voice=settings.speech.voice,
        device=settings.audio.output_device,
        is_silent=is_silent,
    )
    voice, messages = make_voice(wished, click.echo)
    for message in messages:
        click.echo(f"Trouble: {message}")
    try:
        yield voice
    finally:
        voice.close()


def _whole(path: Path) -> bytes:
    return b"".join(block.pcm16 for block in FileMicrophone(path).blocks())
