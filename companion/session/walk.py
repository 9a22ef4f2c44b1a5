"""One stage walked: each command through the guide, into the journal, then out to the weaver."""

from __future__ import annotations

import logging
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from companion import guide
from companion.base.errors import CommandError, JournalError
from companion.command import Command, Kind, parse
from companion.command.kept import to_json
from companion.guide.effects import Say, Tone
from companion.guide.events import to_json as events_to_json
from companion.guide.messages import Dropped, Mode, Unknown
from companion.guide.state import Options, State, check_fits
from companion.record import Entry, EntryKind, Source
from companion.wording import notices

if TYPE_CHECKING:
    from companion.guide.effects import Effects
    from companion.guide.events import Events
    from companion.job import Stage
    from companion.record import Journal
    from companion.session.inputs import Input
    from companion.session.presenter import Presenter

_log = logging.getLogger(__name__)
_KEYED = frozenset({"key", "pedal", "board"})
PREPARED_AHEAD = 3
"""Callouts made ready ahead of the present one; enough for a weaver who presses quickly."""


def saved_state(journal: Journal, stage: Stage) -> State | None:
    """Return where the session stands in a stage; None where it was never walked.

    Raises:
        JournalError: the place is damaged or belongs to another plan.
    """
    saved = journal.last_state(stage.name)
    if saved is None:
        return None
    try:
        state = State.from_json(saved)
        check_fits(state, stage)
    except JournalError as error:
        raise JournalError(f"{journal.id}: {error}") from None
    return state


class Walk:
    """A stage, where the weaver is in it, and what keeps and speaks it.

    Raises:
        JournalError: the saved place is damaged or belongs to another plan.
    """

    def __init__(
        self, stage: Stage, journal: Journal, presenter: Presenter, options: Options, language: str
    ) -> None:
        self.stage = stage
        self._journal = journal
        self._presenter = presenter
        self._language = language
        self._asked: Input | None = None
        saved = saved_state(journal, stage)
        if saved is None:
            self.state, self._greeting = guide.start(stage, options)
        else:
            # Settings may have changed since: the weaver's wishes of today hold.
            self.state = replace(saved, options=options)
            self._greeting = guide.welcome_back(self.state, stage)

    @property
    def is_finished(self) -> bool:
        """Whether the stage's last boundary is passed."""
        return self.state.base is Mode.FINISHED

    @property
    def mode(self) -> Mode:
        """What the walk waits for."""
        return Mode.CONFIRMING if self._asked else self.state.mode

    @property
    def largest_end(self) -> int:
        """The highest number of an end in the stage."""
        return max((step.last_end for step in self.stage.steps), default=0)

    def begin(self, *, is_next: bool = False) -> None:
        """Record that a sitting begins, and greet the weaver; a full disk is told after it.

        Args:
            is_next: whether the sitting goes on from the stage before, of which the last words
                are still being said.
        """
        fault = self._note(EntryKind.NEXT if is_next else EntryKind.OPEN, state=self.state)
        self._speak(self._greeting, interrupt=not is_next)
        if fault:
            self._presenter.notice(fault)

    def end(self, why: str) -> None:
        """Record that the sitting ended in good order, where it can be written."""
        self._note(EntryKind.CLOSE, why)

    def take(self, given: Input) -> bool:
        """Handle one command; return whether the weaver leaves.

        What changes the work is on the disk before anything is heard of it. Where it cannot be
        written the walk stays where it was, and says so; where she is, and leaving, need no disk.
        """
        try:
            command = self._understood(given)
        except CommandError as error:
            _log.info("refused, %s: %s", given.source, error)
            self._note(EntryKind.REFUSED, given.text, Source(given.source))
            self._presenter.perform((Tone("refuse"), Say(Unknown(str(error)))))
            return False
        if given.asks_back:
            self._asked = given
            self._presenter.ask(notices.leave_question())
            return False
        asked, self._asked = self._asked, None
        if asked is not None and command.kind is Kind.YES:
            return self._step(asked, self._understood(asked))
        if asked is not None and command.kind is Kind.NO:
            present = guide.step(self.state, Command(Kind.REPEAT), self.stage)
            return self._speak((Say(Dropped()), *present.effects))
        return self._step(given, command)

    def _understood(self, given: Input) -> Command:
        """Read words in the weaver's language; keys and pedals give English forms first of all."""
        if given.source in _KEYED:
            with suppress(CommandError):
                return parse(given.text)
        return parse(given.text, self._language)

    def _step(self, given: Input, command: Command) -> bool:
        outcome = guide.step(self.state, command, self.stage)
        fault = self._note(
            EntryKind.COMMAND if outcome.is_accepted else EntryKind.REFUSED,
            given.text,
            Source(given.source),
            state=outcome.state if outcome.is_accepted else None,
            command=to_json(command),
            events=outcome.events,
        )
        if fault and outcome.events:
            self._presenter.perform((Tone("trouble"),))
            self._presenter.notice(f"{fault} Your last command was not taken.")
            return False
        self.state = outcome.state
        return self._speak(outcome.effects)

    def _speak(self, effects: Effects, *, interrupt: bool = True) -> bool:
        is_leaving = self._presenter.perform(effects, interrupt=interrupt)
        self._journal.settle()
        self._presenter.prepare(guide.upcoming(self.state, self.stage, PREPARED_AHEAD))
        return is_leaving

    def _note(
        self,
        kind: EntryKind,
        words: str = "",
        source: Source = Source.PROGRAM,
        *,
        state: State | None = None,
        command: str | None = None,
        events: Events = (),
    ) -> str:
        """Commit an entry; return why that could not be, or ""."""
        after = state or self.state
        entry = Entry(
            kind=kind,
            stage=self.stage.name,
            source=source,
            words=words,
            command=command,
            events=events_to_json(events),
            state=state.to_json() if state else None,
            position=after.confirmed,
            total=len(self.stage.steps),
            is_finished=after.base is Mode.FINISHED,
        )
        try:
            self._journal.append(entry)
        except JournalError as error:
            _log.warning("not written, %s %r: %s", kind, words, error)
            return str(error)
        return ""
