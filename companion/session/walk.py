"""One stage walked: each command through the guide, into the journal, then out to the weaver."""

from __future__ import annotations

import logging
import time
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from companion import guide
from companion.base.clean import clean_line
from companion.base.errors import CommandError, JournalError
from companion.command import Command, Kind, NotACommandError, parse
from companion.command.kept import to_json
from companion.guide.effects import Say, Tone
from companion.guide.events import Event
from companion.guide.events import to_json as events_to_json
from companion.guide.messages import Mode, Unknown
from companion.guide.offering import is_enough, likely_numbers
from companion.guide.refuse import refused
from companion.guide.state import Options, State, check_fits
from companion.guide.terms import WhyNot
from companion.record import Entry, EntryKind, Source
from companion.session.inputs import Input
from companion.session.quiet import Quiet
from companion.session.scanner import Scanner
from companion.wording import notices

if TYPE_CHECKING:
    from collections.abc import Callable

    from companion.guide.choices import Choices
    from companion.guide.effects import Effects, Outcome
    from companion.guide.events import Events
    from companion.job import Stage
    from companion.record import Journal
    from companion.session.presenter import Presenter

_log = logging.getLogger(__name__)
UNHURRIED_SECONDS = 1.5
"""A second press affirms a count so long after the question has ended, and no sooner."""
BURST_SECONDS = 1.5
"""Presses that opened the choices came within this time, and were not meant as done."""
BREATH_SECONDS = 0.3
"""By its pace the walk goes on no sooner after a callout."""
_ON_PACE = frozenset({Kind.DONE, Kind.COUNT, Kind.KEEP_GOING, Kind.MORE_TIME, Kind.LESS_TIME})
"""What lets the walk go on by itself; anything else holds it until one of them is given."""
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


class StageWalk:
    """A stage, where the weaver is in it, and what keeps and speaks it.

    Raises:
        JournalError: the saved place is damaged or belongs to another plan.
    """

    def __init__(
        self,
        stage: Stage,
        journal: Journal,
        presenter: Presenter,
        options: Options,
        language: str,
        *,
        scan_seconds: float = 0,
        from_end: int = 0,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.stage = stage
        self._journal = journal
        self._presenter = presenter
        self._language = language
        self._clock = clock
        self._quiet = Quiet()
        self._scanner = Scanner(scan_seconds)
        self._is_held = False
        self._called_at = clock()
        self._pressed: list[tuple[float, str]] = []
        saved = saved_state(journal, stage)
        if saved is None:
            self.state, self._greeting = guide.start(stage, options, stage.find(from_end))
        else:
            # Settings may have changed since: the weaver's wishes of today hold.
            self.state, self._greeting = guide.taken_up(replace(saved, options=options), stage)

    @property
    def is_finished(self) -> bool:
        """Whether the stage's last boundary is passed."""
        return self.state.base is Mode.FINISHED

    @property
    def mode(self) -> Mode:
        """What the walk waits for."""
        asked = self.state.question
        is_count = asked is not None and asked.kind is Kind.COUNT
        return Mode.CHOOSING if self._scanner.is_open or is_count else self.state.mode

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
        said = (effect.message for effect in self._greeting if isinstance(effect, Say))
        fault = self._note(
            EntryKind.NEXT if is_next else EntryKind.OPEN,
            state=self.state,
            events=tuple(message for message in said if isinstance(message, Event)),
        )
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
        given = given._replace(text=clean_line(given.text))
        try:
            command = self._understood(given)
        except NotACommandError as error:
            _log.info("refused, %s: %s", given.source, error)
            self._note(EntryKind.REFUSED, given.text, Source(given.source))
            said = Unknown(error.heard, error.closest, error.example)
            self._presenter.perform((Tone("refuse"), Say(said)))
            return False
        if given.asks_back:
            return self._step(given, replace(command, asks_back=True))
        scanned = self._scan(given, command) if self._scanner.is_open else None
        if scanned is not None:
            return scanned
        if command.kind is Kind.CHOICES:
            return self._open_choices(given)
        # Typed numbers are quicker than any that are offered.
        is_heard = given.source == "voice"
        offers = likely_numbers(self.state, command.kind, self.stage) if is_heard else None
        return self._step(given, command) if offers is None else self._offer(given, command, offers)

    @property
    def is_timed(self) -> bool:
        """Whether the passing of time alone may bring something on."""
        asked = self.state.question
        is_affirming = asked is not None and asked.kind is Kind.COUNT
        return self._scanner.is_open or is_affirming or bool(self.state.options.pace_seconds)

    def tick(self) -> None:
        """Let time do what is due: read the next choice, or read on by the pace."""
        now = self._clock()
        quiet = self._quiet.seconds(now, is_speaking=self._presenter.is_speaking)
        if self._scanner.is_open:
            message = self._scanner.tick(quiet)
            if message is not None:
                self._speak((Say(message),))
        elif self._is_on_pace(now, quiet):
            self._read_on()

    def _is_on_pace(self, now: float, quiet: float) -> bool:
        seconds = self.state.options.pace_seconds
        is_due = quiet >= BREATH_SECONDS and now - self._called_at >= seconds
        return bool(seconds) and is_due and not self._is_held

    def _read_on(self) -> None:
        outcome = guide.read_on(self.state, self.stage)
        if outcome is not None:
            self._carry_out(Input("command", "", "line"), outcome, Source.PROGRAM)

    def _scan(self, given: Input, command: Command) -> bool | None:
        """Move on among the choices, or take one; None where the command is none of theirs."""
        result = self._scanner.given(command.kind)
        if isinstance(result, Command):
            return self._step(given, result)
        if result is None:
            return None
        return self._speak((Tone("confirm"), Say(result)))

    def _open_choices(self, given: Input) -> bool:
        """Read the choices; quick presses that opened them are taken back first."""
        now = self._clock()
        for at, source in reversed(self._pressed):
            is_quick = source == given.source and now - at < BURST_SECONDS
            if is_quick and source in _KEYED:
                self._step(given, Command(Kind.UNDO), is_said=False)
        self._pressed.clear()
        message = self._scanner.open(self.state, self.stage)
        return self._speak((Tone("confirm"), Say(message)))

    def _offer(self, given: Input, command: Command, offers: Choices) -> bool:
        """Drop the question that was answered, and offer the likeliest numbers."""
        if self.state.question is not None:
            self._step(given, command, is_said=False)
        enough = partial(is_enough, self.state, self.stage)
        return self._speak((Tone("confirm"), Say(self._scanner.offer(offers, enough))))

    def _is_hasty(self, given: Input, command: Command) -> bool:
        """Return whether a count is affirmed before anybody can have looked."""
        asked = self.state.question
        if asked is None or (asked.kind, command.kind) != (Kind.COUNT, Kind.DONE):
            return False
        quiet = self._quiet.seconds(self._clock(), is_speaking=self._presenter.is_speaking)
        return given.source != "line" and quiet < UNHURRIED_SECONDS

    def _understood(self, given: Input) -> Command:
        """Read words in the weaver's language; keys and pedals give English forms first of all."""
        if given.source in _KEYED:
            with suppress(CommandError):
                return parse(given.text)
        return parse(given.text, self._language)

    def _step(self, given: Input, command: Command, *, is_said: bool = True) -> bool:
        if self._is_hasty(given, command):
            outcome = refused(self.state, self.stage, WhyNot.TOO_SOON)
        else:
            outcome = guide.step(self.state, command, self.stage)
        self._is_held = command.kind not in _ON_PACE
        is_leaving = self._carry_out(
            given, outcome, Source(given.source), command=command, is_said=is_said
        )
        if command.kind is Kind.DONE and outcome.events:
            self._pressed = [*self._pressed[-2:], (self._clock(), given.source)]
        return is_leaving

    def _carry_out(
        self,
        given: Input,
        outcome: Outcome,
        source: Source,
        *,
        command: Command | None = None,
        is_said: bool = True,
    ) -> bool:
        """Keep what came about, then say it; return whether the weaver leaves."""
        fault = self._note(
            EntryKind.COMMAND if outcome.is_accepted else EntryKind.REFUSED,
            given.text,
            source,
            state=outcome.state if outcome.is_accepted else None,
            command=to_json(command) if command else None,
            events=outcome.events,
        )
        if fault and outcome.events:
            self._presenter.perform((Tone("trouble"),))
            self._presenter.notice(notices.not_kept(fault))
            return False
        self.state = outcome.state
        return self._speak(outcome.effects) if is_said else False

    def _speak(self, effects: Effects, *, interrupt: bool = True) -> bool:
        is_leaving = self._presenter.perform(effects, interrupt=interrupt)
        self._called_at = self._clock()
        self._quiet.spoke()
        self._quiet.seconds(self._called_at, is_speaking=self._presenter.is_speaking)
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
            position=after.sure,
            total=len(self.stage.steps),
            is_finished=after.base is Mode.FINISHED,
        )
        try:
            self._journal.append(entry)
        except JournalError as error:
            _log.warning("not written, %s %r: %s", kind, words, error)
            return str(error)
        return ""
