"""The command that makes a plan: new."""

from __future__ import annotations

from pathlib import Path

import click

from companion.base.errors import CompanionError
from companion.base.files import check_free, write_new
from companion.cli.drafts import hold
from companion.maker.interview import Interview
from companion.plan.file.reader import draft_text


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.toml")
def new(file: Path) -> None:
    """Make a plan by answering questions, and write it to FILE.toml.

    Each question comes alone on its line, with the answer that Enter takes in brackets. An answer
    that does not fit is told at once, with what does. At the end the plan is read back, with what
    it comes to, before it is written; name what to change, and it is asked again. Nothing is
    overwritten.

    \b
    Besides answers you can give:
      back   the question before
      help   more about this question
      rest   take the answers in brackets for all that is left
      stop   leave; nothing is written

    \b
    Answers may come from a file or another program, one a line:
      printf 'Blue scarf\\nrest\\n' | companion new blue-scarf.toml
    """
    if file.suffix != ".toml":
        raise CompanionError(f"Expected a name that ends in .toml, not {file.name!r:.60}.")
    check_free(file)
    interview = Interview(load=lambda name: draft_text(file.parent, name))
    hold(interview)
    if interview.made is None:
        click.echo("Nothing was written.")
        return
    write_new(file, interview.made.text)
    dressing = interview.made.dressing
    ends = f"{len(dressing.ends)} ends. " if dressing else ""
    click.echo(f"Wrote {file}. {ends}See it: companion check {file}")
    click.echo(f"Dress the loom with it: companion thread {file}")
