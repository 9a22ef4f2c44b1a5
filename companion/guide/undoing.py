"""Taking the last change of the work back, or a few presses that were not meant."""

from dataclasses import replace

from companion.command import Command
from companion.guide.effects import Outcome, accepted
from companion.guide.events import Undone
from companion.guide.place import present, stretch
from companion.guide.refuse import refused
from companion.guide.state import State, undone, work_of
from companion.guide.terms import WhyNot
from companion.guide.touch_check import planned, still_wrong
from companion.job import Stage


def undo(state: State, _command: Command, stage: Stage) -> Outcome:
    """Reverse the last change of the work; what was felt wrong since is no less wrong."""
    if not state.undo:
        return refused(state, stage, WhyNot.NOTHING_TO_UNDO)
    after = undone(state)
    if after.checked == state.checked and not after.felt_wrong:
        there = planned(stage, stretch(after, stage))
        after = replace(after, felt_wrong=still_wrong(stage, state.felt_wrong, there))
    return accepted(after, "confirm", _undone(after), present(after, stage))


def _undone(after: State) -> Undone:
    return Undone(after.confirmed, after.checked, after.overrides, len(after.made), after.only_read)


def restored(state: State, before: State) -> Outcome:
    """Let all stand as it did before a few presses that were not meant; nothing is said of it."""
    is_changed = work_of(state) != work_of(before)
    return Outcome(before, (), is_accepted=True, events=(_undone(before),) if is_changed else ())
