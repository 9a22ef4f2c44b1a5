"""Saying what a command prints, for whoever does not look at the screen."""

from __future__ import annotations

import sys
from contextlib import AbstractContextManager, contextmanager, nullcontext, redirect_stdout
from typing import IO, TYPE_CHECKING, Any, Final

import click

from companion.base.errors import CompanionError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from companion.devices.speech.voice import Voice
    from companion.wording import Style

LONGEST_SECONDS: Final = 900.0
"""Nothing takes longer to say; a loudspeaker that hangs must not hold the command for ever."""


class Spoken:
    """A stream that says each line printed to it, after what is being said."""

    def __init__(self, stream: IO[str], voice: Voice, style: Style) -> None:
        self._stream = stream
        self._voice = voice
        self._style = style
        self._begun = ""

    def write(self, text: str) -> int:
        """Print text, and say the lines that end in it."""
        written = self._stream.write(text)
        *lines, self._begun = f"{self._begun}{text}".split("\n")
        self.say(*lines)
        return written

    def say(self, *lines: str) -> None:
        """Say lines and print nothing."""
        from companion.wording.voice import speak  # noqa: PLC0415 - loaded with the voice

        items = [speak(line, self._style) for line in lines if line.strip()]
        self._voice.play(items, interrupt=False)

    def hush(self) -> None:
        """Fall silent, since an answer was given."""
        self._voice.play([])

    def __getattr__(self, name: str) -> Any:
        """Be in all else the stream itself."""
        return getattr(self._stream, name)


def hush() -> None:
    """Fall silent, where what is printed is said."""
    if isinstance(sys.stdout, Spoken):
        sys.stdout.hush()


@contextmanager
def spoken_too(audio_out: Path | None = None, rate: int | None = None) -> Iterator[None]:
    """Say what is printed meanwhile, a mistake too, and wait until it has been heard."""
    # loaded here, so that no command waits for a voice that it does not want
    from companion.session import setup  # noqa: PLC0415
    from companion.settings import load_usable  # noqa: PLC0415

    usable, faults = load_usable()
    click.echo("\n".join(faults), err=True, nl=bool(faults))
    settings = usable.but(words_per_minute=rate)
    wishes = setup.Wishes(audio_out=audio_out)
    with setup.opened_voice(settings, wishes, lambda line: click.echo(line, err=True)) as voice:
        spoken: Any = Spoken(sys.stdout, voice, setup.style_of(settings))
        try:
            with redirect_stdout(spoken):
                yield
        except CompanionError as error:
            spoken.say(str(error))
            raise
        except KeyboardInterrupt:
            spoken.hush()
            raise
        finally:
            voice.wait(LONGEST_SECONDS)


def asked_aloud() -> AbstractContextManager[None]:
    """Say what is asked before a command begins that goes on to speak by itself."""
    options = click.get_current_context().params
    is_heard = options.get("text") is False and options.get("audio_out") is None
    return spoken_too(rate=options.get("rate")) if is_heard else nullcontext()


def _open(ctx: click.Context, _param: click.Parameter, wanted: bool) -> None:  # noqa: FBT001 - click's
    if wanted:
        ctx.with_resource(spoken_too())


def add_to(command: click.Command) -> None:
    """Give a command, and those beneath it, the option to say what it prints."""
    for each in getattr(command, "commands", {"": command}).values():
        if all(param.name != "aloud" for param in each.params):
            each.params.append(
                click.Option(
                    ["--aloud"], is_flag=True, expose_value=False, callback=_open,
                    help="Say what is printed, too.",
                )
            )  # fmt: skip
