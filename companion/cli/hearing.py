"""The commands about spoken commands: listen and teach."""

from pathlib import Path

import click

from companion.base.errors import CommandError
from companion.cli.options import AUDIO_IN, FILE, LANGUAGE, TEXT, Number, print_lines
from companion.cli.walking import EARS
from companion.command import parse
from companion.devices.audio.microphone import FileMicrophone
from companion.devices.recogniser.activity import voice_activity
from companion.devices.recogniser.teaching import FEWEST_TAKES, MOST_TAKES, USUAL_TAKES
from companion.session.lesson import Book, LessonSitting
from companion.session.level import check_ear
from companion.session.listening import microphone_to_ask_at
from companion.session.score import TALK_SECONDS, heard_right, score_ear
from companion.session.setup import Wishes, opened_voice
from companion.settings import Settings, load


@click.command()
@AUDIO_IN
@click.option("--ear", type=click.Choice(EARS[:-1]), help="What listens for spoken commands.")
@LANGUAGE
@click.option("--score", is_flag=True, help="Ask for each command three times, and keep a score.")
@click.option(
    "--keep-recordings", is_flag=True, help="With --score: keep what you said beside the score."
)
@click.option(
    "--talk",
    type=Number(0, 3600),
    default=round(TALK_SECONDS),
    show_default=True,
    metavar="SECONDS",
    help="With --score: how long to talk of other things.",
)
@click.option(
    "--improve", is_flag=True, help="With --score: add what was heard right to words you taught."
)
@click.option("--text", is_flag=True, help="Print only; say nothing aloud, and sound no tone.")
def listen(
    *,
    audio_in: Path | None,
    ear: str | None,
    language: str | None,
    score: bool,
    keep_recordings: bool,
    talk: int,
    improve: bool,
    text: bool,
) -> None:
    """Check the microphone: print what is heard, what is refused and why, and how loud it is.

    Three tones are played first, to measure how long your loudspeaker is heard after it should be
    silent; a walk is deaf for so long. Nothing is done with what you say. Ctrl-C ends it.

    With --score each command is asked for three times, in any order, then ordinary talk. What was
    heard, missed, wrong and taken from talk is told and kept in a file of figures, without sound.
    """
    settings = load().but(recogniser=ear, language=language)
    wishes = Wishes(is_silent=text or audio_in is not None)
    with opened_voice(settings, wishes, _trouble) as voice:
        if score:
            tries = score_ear(
                settings,
                audio_in,
                voice,
                click.echo,
                keeps_sounds=keep_recordings,
                talk_seconds=talk,
                has_tones=not text,
            )
            if improve:
                right = heard_right(tries, settings.hearing.language)
                click.echo(Book(settings.hearing.language).improve(right))
        else:
            check_ear(
                settings, audio_in, click.echo, voice, must_hear=ear is not None, has_tones=not text
            )


@click.command()
@click.argument("words", nargs=-1)
@click.option(
    "--takes",
    type=Number(FEWEST_TAKES, MOST_TAKES),
    default=USUAL_TAKES,
    show_default=True,
    help="How often each word is recorded: one is of use, three are sure.",
)
@AUDIO_IN
@click.option(
    "--room",
    type=FILE,
    metavar="FILE.wav",
    help="A recording of the room and of ordinary talk, to tell your words from.",
)
@LANGUAGE
@TEXT
def teach(
    words: tuple[str, ...],
    *,
    takes: int,
    audio_in: Path | None,
    room: Path | None,
    language: str | None,
    text: bool,
) -> None:
    """Record your own way of saying each of WORDS, or all that are needed and not yet heard.

    It begins with what is heard already without teaching, and asks for the rest. Say the words as
    you will at the loom. It need not be the word itself: any word or sound of yours will do, in any
    language, if you always make it alike. Ctrl-C ends; whole words are kept.
    """
    settings = load().but(language=language)
    book = Book(settings.hearing.language)
    wanted = _wanted(words, book)
    if wanted:
        _teach(settings, book, wanted, takes, audio_in, is_silent=text or audio_in is not None)
    if room is not None:
        book.keep_room(b"".join(block.pcm16 for block in FileMicrophone(room).blocks()))
    print_lines(book.findings())


def _wanted(words: tuple[str, ...], book: Book) -> tuple[str, ...]:
    """Return the words to record.

    Raises:
        CommandError: one of them is no command or number, or takes more words after it.
    """
    for word in words:
        parse(word, book.language)  # says what comes closest
        if not book.may_hold(word):
            raise CommandError(f'"{word}" cannot be taught as one word; teach its parts.')
    if words:
        return words
    if book.untaught:
        click.echo(
            f"Heard already: {', '.join(book.heard_already)}. To teach one all the same, name it."
        )
    if not book.lacking:
        click.echo("Taught: all that a walk needs. To record a word anew, name it.")
    return book.lacking


def _teach(
    settings: Settings,
    book: Book,
    wanted: tuple[str, ...],
    takes: int,
    audio_in: Path | None,
    *,
    is_silent: bool,
) -> None:
    source = microphone_to_ask_at(settings, audio_in, _trouble)
    with opened_voice(settings, Wishes(is_silent=is_silent), _trouble) as voice:
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


def _trouble(line: str) -> None:
    click.echo(f"Trouble: {line}")
