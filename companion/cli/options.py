"""The options that several commands take, and the argument that names a plan or a draft."""

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

import click

from companion.base.files import check_free
from companion.command import LANGUAGES
from companion.settings.schema import FASTEST, SLOWEST


class Number(click.ParamType[float]):
    """A number of a range; what is none is refused in words, which a voice can say."""

    name = "number"

    def __init__(self, least: int, most: int | None = None, kind: type[float] = int) -> None:
        self._least, self._most, self._kind = least, most, kind

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number, a whole one unless the kind is float."""
        with suppress(ValueError):
            number = self._kind(value)
            if self._least <= number and (self._most is None or number <= self._most):
                return number
        most = "up" if self._most is None else f"to {self._most}"
        whole = "whole " if self._kind is int else ""
        told = f'expected a {whole}number from {self._least} {most}, not "{value}".'
        raise click.BadParameter(told, ctx, param)


PATH = click.Path(path_type=Path)
FILE = click.Path(path_type=Path, dir_okay=False)
FOLDER = click.Path(path_type=Path, exists=True, file_okay=False)
# It is read first, for a plan that is asked for in the place of a WIF file.
TEXT = click.option("--text", is_flag=True, is_eager=True, help="Print only; say nothing aloud.")
RATE = click.option(
    "--rate",
    type=Number(SLOWEST, FASTEST),
    help=f"Words a minute of the voice, {SLOWEST} to {FASTEST}.",
)


def _new_wav(_ctx: click.Context, _param: click.Parameter, path: Path | None) -> Path | None:
    if path is not None and path.suffix.lower() != ".wav":
        raise click.BadParameter(f"expected a name that ends in .wav, not {path.name}.")
    if path is not None:
        check_free(path)
    return path


AUDIO_OUT = click.option(
    "--audio-out",
    type=FILE,
    callback=_new_wav,
    metavar="FILE.wav",
    help="Write what would be heard to a sound file instead of the loudspeaker.",
)
AUDIO_IN = click.option(
    "--audio-in", type=FILE, metavar="FILE.wav", help="Hear a recording instead of the microphone."
)
LANGUAGE = click.option(
    "--language", type=click.Choice(LANGUAGES), help="The language of the commands."
)


def print_lines(lines: Iterable[str], *, err: bool = False) -> None:
    """Print one line after the other, to standard error if so."""
    for line in lines:
        click.echo(line, err=err)


def all_of(*options: Callable[..., Any]) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return one decorator in place of several, the first of which is the first in the help."""

    def adding(function: Callable[..., None]) -> Callable[..., None]:
        for option in reversed(options):
            function = option(function)
        return function

    return adding


def begins_at(
    metavar: str, told: str, *, option: str = "--from"
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return the option of where a walk begins on work that is half done."""
    return click.option(option, "from_end", type=Number(1), metavar=metavar, help=told)


_GIVEN: Final = "companion.answers"


def file_of(path: Path, given: Mapping[str, str]) -> Path:
    """Return the plan's file: the path itself, or for a WIF file the plan beside it."""
    if path.suffix.lower() != ".wif":
        return path
    from companion.cli.new import plan_of  # noqa: PLC0415 - not on the way of plans

    return plan_of(path, given)


def _plan(ctx: click.Context, _param: click.Parameter, path: Path) -> Path:
    """Return the plan's path, made now if there is only a draft."""
    given = ctx.meta.get(_GIVEN, {})
    if given and path.suffix.lower() != ".wif":
        raise click.BadParameter("expected no --answer for a plan, which says all by itself.")
    return file_of(path, given)


def _keep_answers(
    ctx: click.Context, _param: click.Parameter, value: tuple[str, ...]
) -> dict[str, str]:
    pairs = [each.partition("=") for each in value]
    if any(not key or not joint for key, joint, _ in pairs):
        raise click.BadParameter("expected KEY=VALUE, as in ends_per_inch=20.")
    given = {key.strip(): answer.strip() for key, _, answer in pairs}
    ctx.meta[_GIVEN] = given
    return given


PLAN = all_of(
    click.argument("plan", type=PATH, callback=_plan),
    click.option(
        "--answer",
        multiple=True,
        metavar="KEY=VALUE",
        is_eager=True,
        expose_value=False,
        callback=_keep_answers,
        help="Where PLAN is a WIF file: what it does not say, such as ends_per_inch=20.",
    ),
)
"""The argument of a plan, and the answers that a draft in its place may need."""
