"""Making a plan by asking: from nothing by `new`, or beside a WIF file for what that lacks."""

import json
import sys
from collections.abc import Callable, Mapping
from contextlib import nullcontext, suppress
from pathlib import Path
from typing import Final

import click

from companion.base.clean import clean_json
from companion.base.errors import CompanionError
from companion.base.files import check_free, replace, write_new
from companion.base.home import data
from companion.base.lines import TOO_LONG, read_lines
from companion.cli.aloud import asked_aloud, hush
from companion.maker.interview import CONFIRM, READ_BACK, Interview
from companion.maker.questions import BRIEF
from companion.out.report import report
from companion.plan.file.reader import draft_text
from companion.plan.file.toml import TomlError, read_toml

_MUST_SAY: Final = frozenset(
    {"ends_per_inch", "ends_per_cm", "dents_per_inch", "dents_per_10cm", "reed_width"}
)
"""What is never taken for granted where there is nobody to ask."""
_METRIC: Final = frozenset({"ends_per_cm", "dents_per_10cm"})


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.toml")
def new(file: Path) -> None:
    """Make a plan by answering questions, and write it to FILE.toml.

    Each question comes alone on its line, with the answer that Enter takes in brackets. An answer
    that does not fit is told at once, with what does. At the end the plan is read back, with what
    it comes to, before it is written; name what to change, and it is asked again. Nothing is
    overwritten. Where it breaks off, what you answered is offered again the next time.

    \b
    Besides answers you can give:
      back    the question before
      help    more about this question
      repeat  this question again
      rest    take the answers in brackets for all that is left
      stop    leave; nothing is written

    \b
    Answers may come from a file or another program, one a line:
      printf 'Blue scarf\\nrest\\n' | companion new blue-scarf.toml
    """
    if file.suffix != ".toml":
        raise CompanionError(f"Expected a name that ends in .toml, not {file.name!r:.60}.")
    check_free(file)
    interview = Interview(load=lambda name: draft_text(file.parent, name))
    kept = data() / "answers" / f"{file.stem}.json"
    if sys.stdin.isatty():
        interview.offer(_earlier(kept))
        hold(interview, lambda: replace(kept, json.dumps(interview.kept).encode()))
    else:
        hold(interview)
    if interview.made is None:
        click.echo("Nothing was written.")
        return
    write_new(file, interview.made.text)
    with suppress(OSError):
        kept.unlink()
    dressing = interview.made.dressing
    ends = f"{len(dressing.ends)} ends. " if dressing else ""
    click.echo(f"Wrote {file}. {ends}See it: companion check {file}")
    click.echo(f"Dress the loom with it: companion thread {file}")


def _earlier(kept: Path) -> dict[str, str]:
    """Return what was answered before an interview broke off."""
    try:
        answers = json.loads(clean_json(kept.read_text(encoding="utf-8")))
        return {str(key): str(answer) for key, answer in answers.items()}
    except (OSError, ValueError, AttributeError):
        return {}


def plan_of(path: Path, given: Mapping[str, str]) -> Path:
    """Return the plan beside a WIF file, which is made by asking where there is none.

    Raises:
        CompanionError: the WIF file cannot be read, or what it lacks is not said.
    """
    beside = path.with_suffix(".toml")
    if beside.exists():
        if not _names(beside, path.name):
            raise CompanionError(
                f"{beside.name} is another plan, not one for {path.name}. Make one with "
                f"companion new, and answer {path.name} when it asks for the threading."
            )
        if given:
            told = f"{beside.name} was made before, so no --answer is taken. Change it by hand."
            click.echo(told, err=True)
        return beside
    interview = Interview(load=lambda name: draft_text(path.parent, name))
    interview.begin_from(path.name, path.stem)
    with asked_aloud() if sys.stdin.isatty() else nullcontext():
        _answered(interview, given, path)
        if interview.made is None:
            raise CompanionError("Nothing was written, so there is no plan to go by.")
        write_new(beside, interview.made.text)
        click.echo(f"Wrote {beside}, which may be changed by hand.")
    return beside


def _names(plan: Path, draft: str) -> bool:
    try:
        return bool(read_toml(plan.read_text(encoding="utf-8")).get("draft") == draft)
    except (OSError, UnicodeDecodeError, TomlError):
        return False


def _answered(interview: Interview, given: Mapping[str, str], path: Path) -> None:
    """Take the answers given, and ask for the others where there is somebody to ask."""
    told = dict(given)
    if _METRIC.intersection(told):
        told.setdefault("units", "metric")
    is_asked = sys.stdin.isatty()
    missing, strange = [], [key for key in told if key not in BRIEF]
    while not strange and (question := interview.question) is not None and question is not CONFIRM:
        answer = told.pop(question.key, None)
        if answer is not None:
            _take(interview, answer, question.key)
        elif is_asked:
            ask(interview)
        else:
            missing += [question.key] * (question.key in _MUST_SAY)
            _take(interview, "", question.key)
    if left := strange or ([] if interview.has_left else list(told)):
        raise CompanionError(f"Expected no --answer for {', '.join(left)}: it is not asked here.")
    if missing:
        needed = " ".join(f"--answer {key}=NUMBER" for key in missing)
        raise CompanionError(
            f"{path.name} is a draft, and does not say what a warp needs. Add {needed}, or make "
            f"its plan with companion new, and answer {path.name} when it asks for the threading."
        )
    if is_asked and not given:
        hold(interview)
    elif interview.question is CONFIRM:
        interview.take("yes")


def _take(interview: Interview, answer: str, key: str) -> None:
    interview.take(answer)
    if interview.question is not None and interview.question.key == key:
        raise CompanionError(f"{key}: {' '.join(interview.lines)}")


def hold(interview: Interview, keep: Callable[[], None] = lambda: None) -> None:
    """Ask on the terminal, one question after the other, until the interview is over."""
    while interview.question is not None:
        ask(interview)
        with suppress(OSError):  # a full disk shall not keep anybody from answering
            keep()
    _tell(interview)


def _tell(interview: Interview) -> None:
    """Say what there is to say, and once of each plan what it comes to."""
    made, told = interview.ready or interview.made, list(interview.lines)
    if READ_BACK in told and made is not None and made.dressing is not None:
        told += report(made.dressing)
    for line in told:
        click.echo(line)


def ask(interview: Interview) -> None:
    """Say what there is to say, and ask the next question.

    Raises:
        CompanionError: the answers ended before the questions did.
    """
    _tell(interview)
    click.echo(prompt := interview.prompt)
    interview.take(_answer(prompt))


def _answer(prompt: str) -> str:
    for typed in read_lines(sys.stdin):
        hush()
        if typed is not None:
            return typed
        click.echo(f"{TOO_LONG}\n{prompt}")
    raise CompanionError(
        "The answers ended before the questions did, so nothing was written. Answer them all, or "
        "end with rest."
    )
