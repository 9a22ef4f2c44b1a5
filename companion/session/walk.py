"""One stage walked: each command through the guide, into the journal, then out to the weaver."""

import logging
import math
import time
from collections import deque
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import NamedTuple

from companion import guide
from companion.base.clean import clean_line
from companion.base.errors import JournalError
from companion.command import Command, Kind, NotACommandError, parse, parsed
from companion.guide.choices import (
    ANSWERS,
    FIRST_ITEM_FACTOR,
    Choices,
    answered,
    likely_numbers,
    moved_on,
    open_to,
)
from companion.guide.effects import ChangePlan, Effects, Outcome, PlanWish, Say, Tone, messages_in
from companion.guide.events import Event, Events
from companion.guide.events import to_json as events_to_json
from companion.guide.fits import check_fits
from companion.guide.messages import ChoicesClosed, Mode, Unknown
from companion.guide.place import present
from companion.guide.refuse import refused
from companion.guide.state import Options, State, without_overlays
from companion.guide.terms import WhyNot
from companion.job import Stage, Step
from companion.record import Entry, EntryKind, Journal, Source
from companion.session.inputs import Input
from companion.session.presenter import Presenter
from companion.session.timing import Quiet

_log = logging.getLogger(__name__)
UNHURRIED_SECONDS = 1.5
"""A second press affirms a count so long after the question has ended, and no sooner."""
OPENING_SECONDS = 1.0
"""A press that comes sooner after a new opening was meant for what came before it."""
BREATH_SECONDS = 0.3
"""By its pace the walk goes on no sooner after a callout."""
_ON_PACE = frozenset(
    {Kind.DONE, Kind.COUNT, Kind.READ_BACK, Kind.KEEP_GOING, Kind.MORE_TIME, Kind.LESS_TIME}
)
"""What lets the walk go on by itself; anything else holds it until one of them is given."""
_KEYED = frozenset({"key", "pedal", "board"})
_BY_HAND = frozenset({"key", "pedal"})
MOST_QUICK = 64
"""Quick presses that can be taken back: the letters of the longest command, and more."""
PREPARED_AHEAD = 3
"""Callouts made ready ahead of the present one; enough for a weaver who presses quickly."""


def saved_state(journal: Journal, stage: Stage) -> State | None:
    """Return where the session stands in a stage, if it was walked; JournalError if damaged."""
    saved = journal.last_state(stage.name)
    if saved is None:
        return None
    try:
        state = State.from_json(saved)
        check_fits(state, stage)
    except JournalError as error:
        raise JournalError(f"{journal.id}: {error}") from None
    return state


def entry_at(
    kind: EntryKind, stage: Stage, state: State, events: Events, *, is_kept: bool = True
) -> Entry:
    """Return what is to be recorded of a stage in this state, which itself need not be kept."""
    return Entry(
        kind=kind,
        stage=stage.name,
        events=events_to_json(events),
        state=state.to_json() if is_kept else None,
        position=state.sure,
        total=len(stage.steps),
        is_finished=state.base is Mode.FINISHED,
    )


def _opened(
    stage: Stage, journal: Journal, options: Options, first: Step | None
) -> tuple[State, Effects]:
    """Return where the walk begins or goes on, and what is said; `first` is for a beginning."""
    saved = saved_state(journal, stage)
    if saved is None:
        return guide.start(stage, options, first)
    # Settings may have changed since: the weaver's wishes of today hold.
    state, last = replace(saved, options=options), journal.last_entry()
    is_by_another = last is not None and last.weaver != journal.weaver
    return guide.taken_up(state, stage, is_by_another=is_by_another)


class _Press(NamedTuple):
    """A command, and how all stood before it."""

    source: str
    text: str
    state: State
    choices: Choices | None
    wishes: dict[str, str]
    """What was to be kept for the next walk."""


class StageWalk:
    """A stage, where the weaver is in it, and what keeps and speaks it; JournalError if damaged."""

    def __init__(
        self,
        stage: Stage,
        journal: Journal,
        presenter: Presenter,
        options: Options,
        *,
        scan_seconds: float = 0,
        from_end: int = 0,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.stage = stage
        self.largest_end = max((step.last_end for step in stage.steps), default=0)
        """The highest number of an end in the stage."""
        self._journal = journal
        self._presenter = presenter
        self._clock = clock
        self._quiet = Quiet()
        self._scan_seconds = scan_seconds
        self._choices: Choices | None = None
        """Those that are being read, if any."""
        self._is_held = self._is_behind = False
        self._called_at = self._began_at = clock()
        self.plan_wish: PlanWish | None = None
        """What the last command wishes of the plan; None where nothing."""
        self._pressed: deque[_Press] = deque(maxlen=MOST_QUICK)
        first = stage.find(from_end) if from_end else None
        self.state, self._greeting = _opened(stage, journal, options, first)

    @property
    def is_finished(self) -> bool:
        """Whether the stage's last boundary is passed."""
        return self.state.base is Mode.FINISHED

    @property
    def mode(self) -> Mode:
        """What the walk waits for."""
        is_choosing = self._choices is not None or self.state.asked is Kind.COUNT
        return Mode.CHOOSING if is_choosing else self.state.mode

    def begin(
        self, *, is_next: bool = False, before: Effects = (), asking: Command | None = None
    ) -> None:
        """Record that a sitting begins, and greet the weaver; a full disk is told after it.

        Args:
            is_next: whether the sitting goes on from the stage before, of which the last words
                are still being said.
            before: what is said first.
            asking: what is asked in place of the greeting.
        """
        if asking is not None:
            self.state = replace(self.state, question=asking)
            self._greeting = (Say(present(self.state, self.stage)),)
        fault = self._note(
            EntryKind.NEXT if is_next else EntryKind.OPEN,
            state=self.state,
            events=tuple(each for each in messages_in(self._greeting) if isinstance(each, Event)),
        )
        self._began_at = self._clock()
        self._speak((*before, *self._greeting), interrupt=False)
        if fault:
            self._presenter.notice(str(fault), fault.aloud)

    def ask(self, question: Command) -> None:
        """Ask something that the weaver has not said herself; nothing is changed by it."""
        self.state = replace(without_overlays(self.state), question=question)
        self._speak((Say(present(self.state, self.stage)),))

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
            self._note(EntryKind.REFUSED, given.text, given.source)
            self._presenter.perform((Tone("refuse"), Say(self._unknown(error))))
            return False
        if given.quick:
            self._take_back(given)
        wishes = dict(self._presenter.wishes)
        press = _Press(given.source, given.text, self.state, self._choices, wishes)
        self._pressed.append(press)
        if given.source == "pedal" and self.stage.is_by_foot:
            off = refused(self.state, self.stage, WhyNot.ON_TREADLES)
            return self._carry_out(given, off, command=command)
        if given.asks_back:
            return self._step(given, replace(command, asks_back=True))
        scanned = self._scan(given, command)
        if scanned is not None:
            return scanned
        if command.kind in {Kind.CHOICES, Kind.MORE_CHOICES}:
            return self._speak((Tone("confirm"), self._read(open_to(self.state, self.stage))))
        # Typed numbers are quicker than any that are offered.
        is_heard = given.source == "voice"
        offers = likely_numbers(self.state, command.kind, self.stage) if is_heard else None
        return self._step(given, command) if offers is None else self._offer(given, command, offers)

    def _unknown(self, error: NotACommandError) -> Unknown:
        """Return what was heard that is no command, and of what is meant what can be said now."""
        may = partial(guide.may_say, self.state, stage=self.stage)
        closest = tuple(
            each for each in error.closest if may(parse(each, self._presenter.language))
        )
        example = error.example if error.example in closest else ""
        return Unknown(error.heard, closest, guide.likely(self.state, self.stage), example)

    @property
    def is_timed(self) -> bool:
        """Whether the passing of time alone may bring something on."""
        return self.mode is Mode.CHOOSING or bool(self.state.options.pace_seconds)

    def tick(self) -> None:
        """Let time do what is due: read the next choice, or read on by the pace."""
        now = self._clock()
        quiet = self._quiet.seconds(now, is_speaking=self._presenter.is_speaking)
        if self._choices is not None:
            factor = FIRST_ITEM_FACTOR if self._choices.is_first else 1.0
            if self._scan_seconds and quiet >= factor * self._scan_seconds:
                self._speak((self._read(moved_on(self._choices)),))
        elif self._is_on_pace(now, quiet):
            self._read_on()

    def _is_on_pace(self, now: float, quiet: float) -> bool:
        seconds = self.state.options.pace_seconds
        is_due = quiet >= BREATH_SECONDS and now - self._called_at >= seconds
        return bool(seconds) and is_due and not self._is_held

    def _read_on(self) -> None:
        was_reading = self.state.reading is not None
        outcome = guide.read_on(self.state, self.stage)
        if outcome is not None:
            self._carry_out(Input("command", "", "program"), outcome)
            # What was read back is looked at before the work goes on.
            self._is_held = was_reading and self.state.reading is None

    def _scan(self, given: Input, command: Command) -> bool | None:
        """Move on among the choices, or take one; None where the command is none of theirs."""
        choices, self._choices = self._choices, None
        if choices is None or command.kind not in ANSWERS:
            return None
        is_by_press = not self._scan_seconds
        result = answered(choices, command.kind, self.state, self.stage, is_by_press=is_by_press)
        if isinstance(result, Command):
            return self._step(given, result)
        return self._speak((Tone("confirm"), self._read(result)))

    def _read(self, choices: Choices | None) -> Say:
        """Keep the choices, and return what is said of the present one, or that they are over."""
        self._choices = choices
        return Say(choices.call if choices else ChoicesClosed())

    def _take_back(self, given: Input) -> None:
        """Let all stand as before the quick presses that together ask for something else."""
        alike = (each for each in self._pressed if given.gave in {"", each.text})
        own = [each for each in alike if each.source == given.source][-given.quick :]
        self._pressed.clear()
        if own:
            self._presenter.wishes = own[0].wishes
            self._choices = None if self._scan_seconds else own[0].choices
        if own and own[0].state != self.state:
            outcome = guide.restored(self.state, own[0].state)
            undo = Command(Kind.UNDO)
            self._carry_out(given, outcome, command=undo, is_said=False)

    def _offer(self, given: Input, command: Command, offers: Choices) -> bool:
        """Drop the question that was answered, and offer the likeliest numbers."""
        if self.state.question is not None:
            self._step(given, command, is_said=False)
        return self._speak((Tone("confirm"), self._read(offers)))

    def _hasty(self, given: Input, command: Command) -> WhyNot | None:
        """Return why done comes before anybody can have meant it here, or None."""
        if command.kind is not Kind.DONE:
            return None
        is_new = self._clock() - self._began_at < OPENING_SECONDS
        if is_new and given.source in _BY_HAND:
            return WhyNot.JUST_BEGUN
        if self.state.asked is not Kind.COUNT or given.source == "line":
            return None
        quiet = self._quiet.seconds(self._clock(), is_speaking=self._presenter.is_speaking)
        return WhyNot.TOO_SOON if quiet < UNHURRIED_SECONDS else None

    def _understood(self, given: Input) -> Command:
        """Read words in the weaver's language; keys and pedals give English forms first of all."""
        by_key = parsed(given.text) if given.source in _KEYED else None
        return by_key or parse(given.text, self._presenter.language)

    def _step(self, given: Input, command: Command, *, is_said: bool = True) -> bool:
        why = self._hasty(given, command)
        if why:
            outcome = refused(self.state, self.stage, why)
        else:
            self._began_at = -math.inf  # whoever gives a command knows that the walk has begun
            outcome = guide.step(self.state, command, self.stage)
        self._is_held = command.kind not in _ON_PACE
        return self._carry_out(given, outcome, command=command, is_said=is_said)

    def _carry_out(
        self,
        given: Input,
        outcome: Outcome,
        *,
        command: Command | None = None,
        is_said: bool = True,
    ) -> bool:
        """Keep what came about, then say it; return whether the weaver leaves."""
        fault = self._note(
            EntryKind.COMMAND if outcome.is_accepted else EntryKind.REFUSED,
            given.text,
            given.source,
            state=outcome.state if outcome.is_accepted else None,
            command=command.to_json() if command else None,
            events=outcome.events,
        )
        if fault and outcome.events:
            self._presenter.perform((Tone("trouble"),))
            self._presenter.not_kept(fault)
            return False
        self.state = outcome.state
        wishes = [effect.how for effect in outcome.effects if isinstance(effect, ChangePlan)]
        self.plan_wish = wishes[-1] if wishes else None
        return self._speak(outcome.effects) if is_said else False

    def _speak(self, effects: Effects, *, interrupt: bool = True) -> bool:
        is_leaving = self._presenter.perform(effects, interrupt=interrupt)
        self._called_at = self._clock()
        self._quiet.spoke()
        self._quiet.seconds(self._called_at, is_speaking=self._presenter.is_speaking)
        self._is_behind = True
        return is_leaving

    def catch_up(self) -> None:
        """Do what could wait until everybody was told of the place: make ready what comes next."""
        if self._is_behind:
            self._is_behind = False
            self._presenter.prepare(guide.upcoming(self.state, self.stage, PREPARED_AHEAD))
            self._journal.settle()

    def _note(
        self,
        kind: EntryKind,
        words: str = "",
        source: Source = "program",
        *,
        state: State | None = None,
        command: str | None = None,
        events: Events = (),
    ) -> JournalError | None:
        """Commit an entry; return why that could not be, if so."""
        entry = entry_at(kind, self.stage, state or self.state, events, is_kept=state is not None)
        try:
            self._journal.append(replace(entry, words=words, source=source, command=command))
        except JournalError as error:
            _log.warning("not written, %s %r: %s", kind, words, error)
            return error
        return None
