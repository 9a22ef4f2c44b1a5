"""One sitting at the loom: its stages in order, fed by every source of commands."""

from __future__ import annotations

import logging
import queue
import time
from collections.abc import Callable, Sequence
from contextlib import ExitStack, suppress
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Literal

from companion.base.errors import JournalError
from companion.command import Command, Kind
from companion.guide.effects import PlanWish, Say
from companion.guide.messages import Mode
from companion.guide.state import Options
from companion.guide.terms import MENDED, Way
from companion.job import Stage
from companion.session.inputs import Inbox, Input, InputSource
from companion.session.interrupts import Interrupts
from companion.session.presenter import Presenter
from companion.session.session_lookup import finished
from companion.session.timing import BreakReminder
from companion.session.walk import StageWalk
from companion.wording import break_reminder, notices

if TYPE_CHECKING:
    from companion.record import Journal
    from companion.session.replan import Change, Replan

PlanAnswer = Literal["ask", "take", "keep"]
_log = logging.getLogger(__name__)
INBOX_SIZE = 1000
BEAT_SECONDS = 0.1
"""How often the walk looks at the clock while it goes on by itself or reads choices."""
INPUT_ENDED = "input-ended"
TICK_SECONDS = 1.0
"""How often the clock is looked at while nothing is said."""


class Sitting:
    """Walks stages one after another until the weaver leaves or every source has ended.

    Args:
        stages: the passes to walk, in order; those already finished are passed over.
        journal: open for writing; closing it stays the caller's.
        presenter: prints and speaks.
        options: how the weaver wants to be guided.
        scan_seconds: how long each choice stands; 0 has a press move on.
        from_end: where the first stage begins, on work that is half done; 0 at its first step.
        replan: looks for another plan in the session's plan file; None never does.
        fault_told: what the weaver is told in place of what keeps the plan file from being walked.
        answer: whether to take another plan for which something must be undone.
        break_seconds: after how long at work without a rest one is spoken of; 0 is never.
    """

    def __init__(
        self,
        stages: Sequence[Stage],
        journal: Journal,
        presenter: Presenter,
        options: Options,
        *,
        break_seconds: float = 0,
        scan_seconds: float = 0,
        from_end: int = 0,
        replan: Replan | None = None,
        fault_told: str = "",
        answer: PlanAnswer = "ask",
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._journal = journal
        self._presenter = presenter
        self._replan = replan
        self._answer: PlanAnswer = answer
        self._change: Change | None = None
        self._fault_told = fault_told
        self.plan_fault = ""
        """What keeps the plan file from being walked as it is, as it was last looked at."""
        self._new_walk = partial(
            StageWalk, journal=journal, presenter=presenter,
            scan_seconds=scan_seconds, clock=clock,
        )  # fmt: skip
        self._options = options
        self._walks = self._walks_of(stages, from_end)
        self._break_seconds = break_seconds
        self._clock = clock
        self._reminder = BreakReminder(break_seconds, clock())

    def _walks_of(self, stages: Sequence[Stage], from_end: int = 0) -> list[StageWalk]:
        past = finished(self._journal)
        open_stages = [stage for stage in stages if stage.name not in past] or stages[-1:]
        later = replace(self._options, cautions=False, tell_help=False)
        return [
            self._new_walk(
                stage,
                options=later if number else self._options,
                from_end=0 if number else from_end,
            )
            for number, stage in enumerate(open_stages)
        ]

    @property
    def walk(self) -> StageWalk:
        """The stage being walked."""
        return self._walks[0]

    def run(self, sources: Sequence[InputSource]) -> None:
        """Begin, take commands until the end, and leave the place recorded."""
        inbox: Inbox = queue.Queue(INBOX_SIZE)
        why = "stopped"
        with ExitStack() as ending, Interrupts.of_signals() as interrupts:
            try:
                self._begin()
                self._tell_sources(sources)
                for source in sources:
                    ending.callback(source.close)
                    source.start(inbox)
                why = self._loop(inbox, sources, interrupts)
            except KeyboardInterrupt:
                why = "interrupted"
                self._presenter.notice(notices.interrupted(self._journal.id))
        self.walk.end(why)

    def _begin(self) -> None:
        """Greet the weaver; where the plan is another now, say so or ask first."""
        change = self._look()
        if change is None:
            self.walk.begin()
        elif self._answer == "keep" or (self._answer == "ask" and change.is_declined):
            self._presenter.notice(notices.plan_left(self._presenter.language))
            self.walk.begin()
            self._decline(change)
        elif change.is_undoing and self._answer == "ask":
            self._change = change.mended() or change
            self.walk.begin(asking=self._change.question)
        else:
            self._take_plan((change.is_undoing and change.mended()) or change)

    def _decline(self, change: Change) -> None:
        """Go on by the plan as it was; the next sitting only remarks on the other one."""
        self._change = None
        with suppress(JournalError):  # it is asked once more then
            change.decline()

    def _look(self, same: str = "") -> Change | None:
        """Return what another plan comes to; what keeps it from being had, or `same`, is told."""
        change = self._replan.look() if self._replan else None
        self.plan_fault = change if isinstance(change, str) else ""
        told = (self.plan_fault and self._fault_told) or self.plan_fault
        if change is None:
            told = same
        if told:
            self._presenter.notice(told)
        return None if isinstance(change, str) else change

    def _take_plan(self, change: Change) -> None:
        """Go on by the new plan, where it can be written that it is walked."""
        self._change = None
        try:
            change.take()
        except JournalError as error:
            self._presenter.not_kept(error)
            return
        self._walks = self._walks_of(change.replan.stages())
        self.walk.begin(is_next=True, before=(Say(change.event),))

    def _heed(self, wish: PlanWish) -> None:
        """Look at the plan file once more, or take the new plan, as the weaver wishes."""
        if wish == "take" and self._change is not None:
            self._take_plan(self._change)
        elif wish == "keep":
            if self._change is not None:
                self._decline(self._change)
        elif wish == "edge":
            self._ask_edge()
        else:
            self._look_again()

    def _look_again(self) -> None:
        """Take another plan, or ask first; asked once more, without mending for it."""
        change, asked = self._look(notices.PLAN_SAME), self.walk.state.question
        if change is None:
            return
        if change.is_undoing:
            is_other = asked is not None and asked.text == MENDED
            self._change = (None if is_other else change.mended()) or change
            self.walk.ask(self._change.question)
        else:
            self._take_plan(change)

    def _ask_edge(self) -> None:
        """Offer a way to go on after a beginning at the wrong edge; asked once more, the next."""
        asked = self.walk.state.question
        is_next = asked is not None and asked.kind is Kind.WRONG_EDGE and asked.text != Way.ANEW
        self._change = None if is_next or not self._replan else self._replan.from_other_edge()
        way = self._change.event.way if self._change else None
        self.walk.ask(Command(Kind.WRONG_EDGE, text=way or Way.ANEW))

    def _tell_sources(self, sources: Sequence[InputSource]) -> None:
        """Tell every source what the walk waits for; the rest can be done then."""
        for source in sources:
            source.follow(self.walk.mode, self.walk.largest_end)
        self.walk.catch_up()

    def _loop(self, inbox: Inbox, sources: Sequence[InputSource], interrupts: Interrupts) -> str:
        """Take events until the weaver leaves; return why it ended."""
        open_sources = len(sources)
        while open_sources:
            seconds = BEAT_SECONDS if self.walk.is_timed else TICK_SECONDS
            try:
                with interrupts.waiting():
                    given = inbox.get(timeout=seconds)
            except queue.Empty:
                self.walk.tick()
                self._tell_sources(sources)
                self._remind()
                continue
            if given.kind == "command":
                if self._take(given):
                    return "stopped"
                self._tell_sources(sources)
            elif given.kind == "closed":
                open_sources -= 1
            else:
                self._pass_on(given)
        ended = notices.all_done if self.walk.is_finished else notices.place_kept
        self._presenter.notice(ended(self._journal.id))
        return INPUT_ENDED

    def _pass_on(self, given: Input) -> None:
        """Tell the weaver, and the log, what a source has to tell beside commands."""
        if given.kind == "notice":
            _log.warning("%s: %s", given.source, given.text)
            self._presenter.notice(given.text)
        else:
            _log.info("refused, %s: %s", given.source, given.text)
            self._presenter.refuse(given.text)

    def _take(self, given: Input) -> bool:
        if given.is_due is not None and not given.is_due():
            return False
        was_finished = self.walk.is_finished
        is_leaving = self.walk.take(given)
        wish = self.walk.plan_wish
        if wish:
            self.walk.plan_wish = None
            self._heed(wish)
        if self.walk.is_finished and not was_finished and len(self._walks) > 1:
            self._walks.pop(0)
            self.walk.begin(is_next=True)
        self._reminder.took(self._clock(), is_paused=self.walk.mode is Mode.PAUSED)
        self._remind()
        return is_leaving

    def _remind(self) -> None:
        if self._reminder.is_due(self._clock()):
            self._presenter.notice(break_reminder(round(self._break_seconds / 60)))
