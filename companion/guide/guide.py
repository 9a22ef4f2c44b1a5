"""The guide: a pure function from a state and a command to a state and effects."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import islice
from typing import Final, Literal

from companion.command import Command, Kind
from companion.guide import mending, walk
from companion.guide.choices import NUMBERED
from companion.guide.effects import (
    ChangePlan,
    ChangeRate,
    Leave,
    Outcome,
    Say,
    Tone,
    Tune,
    accepted,
    messages_in,
    unchanged,
)
from companion.guide.events import MistakeReported, Paused, Resumed
from companion.guide.looking import heddle, look, read_back, while_looking, while_reading
from companion.guide.mend_messages import MendQuestion
from companion.guide.messages import COUNTED, Dropped, Goodbye, Help, Hold, Mode, NewRate
from companion.guide.opening import OF_SITTING, all_cautions
from companion.guide.place import (
    asking,
    catch_up_question,
    expected_so_far,
    is_begun,
    present,
    where,
)
from companion.guide.refuse import TELLING, choosable, fitting, refused
from companion.guide.state import REASON_LENGTH, State
from companion.guide.telling import paced, told_otherwise
from companion.guide.terms import Message, Way, WhyNot
from companion.guide.undoing import undo
from companion.job import Stage

MOST_OFFERED: Final = 3
"""Commands named to a weaver who said none, beside help. Our own choice."""
_Handler = Callable[[State, Command, Stage], Outcome]


def step(state: State, command: Command, stage: Stage) -> Outcome:
    """Return what a command leads to; `is_accepted` is False where it does not fit."""
    if state.question is not None:
        return _answer(state, state.question, command, stage)
    if state.is_paused:
        return _while_paused(state, command, stage)
    if command.kind in _OVERLAID and state.reading is not None:
        return while_reading(state, state.reading, command, stage)
    if command.kind in _OVERLAID and state.looking:
        return while_looking(state, command, stage)
    if command.kind in _MENDING_OWN and state.mending is not None:
        return mending.while_mending(state, state.mending, command, stage)
    return _HANDLERS[command.kind](state, command, stage)


def may_say(state: State, command: Command, stage: Stage) -> bool:
    """Return whether a command leads on now; at a question, whether it belongs to the answers."""
    is_answer = state.question is None or command.kind in fitting(state, stage)
    return is_answer and step(state, command, stage).is_accepted


def likely(state: State, stage: Stage) -> tuple[Kind, ...]:
    """Return the few likeliest commands that can be said now, and at last help."""
    may = _sayable(choosable(state, stage), state, stage)
    return (*islice(may, MOST_OFFERED), Kind.HELP)


def _help(state: State, stage: Stage) -> Help:
    kinds = (kind for kind in fitting(state, stage) if kind is not Kind.HELP)
    return Help(state.mode, tuple(_sayable(kinds, state, stage)), stage.item)


def _sayable(kinds: Iterable[Kind], state: State, stage: Stage) -> Iterator[Kind]:
    """Yield of some commands those that lead on now, without more than a first number."""
    kinds = (kind for kind in kinds if kind not in NUMBERED - {Kind.COUNT})
    return (kind for kind in kinds if may_say(state, _in_full(kind), stage))


def _in_full(kind: Kind) -> Command:
    return Command(kind, 1, numbers=(1,)) if kind is Kind.COUNT else Command(kind)


def read_on(state: State, stage: Stage) -> Outcome | None:
    """Go on by the pace, in a read-back too; None where the weaver must come first."""
    if state.mode is Mode.READING and state.reading is not None:
        return while_reading(state, state.reading, Command(Kind.DONE), stage)
    return walk.read_on(state, stage)


def upcoming(state: State, stage: Stage, limit: int) -> tuple[Message, ...]:
    """Return up to `limit` messages that come next if all is done, counted right and resumed."""
    found: list[Message] = []
    while len(found) < limit:
        outcome = step(state, _expected_command(state, stage), stage)
        if not outcome.is_accepted:
            break
        found += messages_in(outcome.effects)
        state = outcome.state
    return tuple(found[:limit])


def _expected_command(state: State, stage: Stage) -> Command:
    if state.mode in COUNTED:
        return Command(Kind.COUNT, expected_so_far(state, stage))
    kinds = {Mode.PAUSED: Kind.RESUME, Mode.CONFIRMING: Kind.YES}
    return Command(kinds.get(state.mode, Kind.DONE))


def _while_paused(state: State, command: Command, stage: Stage) -> Outcome:
    if command.kind is Kind.RESUME:
        after = replace(state, is_paused=False)
        return accepted(after, "confirm", Resumed(), present(after, stage))
    if command.kind in _PAUSED_TOO:
        return _HANDLERS[command.kind](state, command, stage)
    return refused(state, stage, WhyNot.PAUSED)


def _answer(state: State, asked: Command, command: Command, stage: Stage) -> Outcome:
    """Do what was asked about on yes; all but what leaves it open is no. Refused, it stands."""
    if command.kind in _ASIDE or command.kind is asked.kind in _ASKED_ANEW:
        return _HANDLERS[command.kind](state, command, stage)
    if asked.kind is Kind.NEW_PLAN and command.kind is Kind.MEND:
        return unchanged(state, ChangePlan("look"))
    after = replace(state, question=None)
    if asked.kind is Kind.COUNT and command.kind in {Kind.DONE, Kind.YES}:
        return walk.affirm(after, stage)
    is_count = asked.kind is Kind.DONE and command.kind in {Kind.COUNT, Kind.MISTAKE}
    is_other = asked.kind not in {Kind.LOOK, Kind.COUNT, Kind.STOP} and not is_count
    if command.kind is Kind.NO or is_other:
        return _yes_or_no(after, asked, command, stage)
    wanted = command
    if asked.kind is Kind.LOOK and command.kind is Kind.COUNT and command.number is not None:
        wanted = Command(Kind.LOOK, command.number)
    elif asked.kind is Kind.STOP and command.kind is Kind.YES:
        wanted = asked
    outcome = step(after, wanted, stage)
    if not outcome.is_accepted:
        outcome = outcome._replace(state=state)
        if asked.kind is Kind.LOOK and wanted is command:  # whose why is not about the question
            outcome = outcome._replace(effects=(Tone("refuse"), Say(present(state, stage))))
    return outcome


def _yes_or_no(after: State, asked: Command, command: Command, stage: Stage) -> Outcome:
    if command.kind is Kind.YES:
        return _agreed(after, asked, stage)
    if command.kind is Kind.NO and asked.kind is Kind.DONE and is_begun(after, stage):
        return walk.wrong(after, stage, catch_up_question(after, asked, stage).count)
    if command.kind is Kind.STOP:
        return _stop(after, command, stage)
    tune: Tune = "confirm" if command.kind is Kind.NO else "refuse"
    now = present(after, stage)
    now = replace(now, telling="again") if isinstance(now, Hold) else now
    dropped = accepted(after, tune, Dropped(), now)
    if command.kind is Kind.NO and asked.kind is Kind.NEW_PLAN:
        return dropped._replace(effects=(*dropped.effects, ChangePlan("keep")))
    return dropped


def _agreed(after: State, asked: Command, stage: Stage) -> Outcome:
    if asked.kind is Kind.ACCEPT:
        return walk.accept(after, stage, asked.text)
    if asked.kind is Kind.DONE:
        return walk.catch_up(after, stage, asked.number or 0)
    if asked.kind is Kind.MEND:
        return mending.begin(after, stage, asked.number or 0)
    if asked.kind is Kind.WRONG_EDGE and asked.text == Way.ANEW:
        return walk.go_to(after, stage, stage.steps[0])
    if asked.kind in OF_SITTING:
        return unchanged(after, Tone("confirm"), ChangePlan("take"))
    return walk.go_to(after, stage, stage.find(asked.number or 0) or stage.steps[0])


def _stop(state: State, command: Command, stage: Stage) -> Outcome:
    if command.asks_back:
        after = replace(state, question=Command(Kind.STOP))
        return accepted(after, "confirm", present(after, stage))
    bye = Goodbye(state.sure, state.steps, state.base is Mode.FINISHED)
    return unchanged(state, Say(bye), Leave())


def _wrong_edge(state: State, _command: Command, stage: Stage) -> Outcome:
    if not stage.is_from_edge:
        return refused(state, stage, WhyNot.NO_EDGE)
    if not state.sure:
        return refused(state, stage, WhyNot.NOTHING_CONFIRMED)
    return unchanged(state, ChangePlan("edge"))


def _ask_accept(state: State, command: Command, stage: Stage) -> Outcome:
    if state.base is not Mode.HELD:
        why = WhyNot.COUNT_ALL if state.felt_wrong else WhyNot.NOTHING_HELD
        return refused(state, stage, why)
    reason = "".join(mark for mark in command.text if mark.isprintable())[:REASON_LENGTH]
    return asking(state, stage, Command(Kind.ACCEPT, text=reason))


def _rewind(state: State, command: Command, stage: Stage) -> Outcome:
    """Rewind within the present group at once; ask before a checked group is opened."""
    end = command.number or 0
    step = stage.find(end)
    if step is None:
        return refused(state, stage, WhyNot.NO_SUCH_END, number=end, limit=stage.last_number)
    if step.number > state.confirmed:
        return refused(state, stage, WhyNot.NOT_YET, number=end)
    if step.group > state.checked:
        return walk.go_to(state, stage, step)
    return asking(state, stage, Command(Kind.REWIND, end))


def _mistake(state: State, command: Command, stage: Stage) -> Outcome:
    if state.reading is None and state.looking:
        return accepted(state, "trouble", MistakeReported(state.looking), present(state, stage))
    if state.reading is None:
        return walk.mistake(state, command, stage)
    at = stage.steps[state.reading.at - 1]
    # A floating selvedge has no number: behind the last end, that end is what to go back to.
    read = reversed(stage.steps[: at.number])
    number = next(filter(None, map(stage.number_of, read)), 0)
    if at.number > state.confirmed:
        return refused(state, stage, WhyNot.NOT_YET, number=number)
    question, came = Command(Kind.REWIND, number), MistakeReported(at.group)
    return asking(state, stage, question, came, tune="trouble")


_ASIDE: Final = frozenset(
    {Kind.REPEAT, Kind.HELP, Kind.WHERE, Kind.CAUTIONS, Kind.SLOWER, Kind.FASTER}
)
"""What tells something, or how it is told, and leaves a question open."""
_ASKED_ANEW: Final = frozenset({Kind.MEND, Kind.WRONG_EDGE, Kind.ACCEPT})
"""Asked once more they offer another way, or take a reason."""
_OVERLAID: Final = {Kind.DONE, Kind.BACK, Kind.RESUME, Kind.COUNT}
"""What has its own meaning while a group is read back or looked at."""
_MENDING_OWN: Final = (_OVERLAID - {Kind.RESUME}) | {
    Kind.MEND,
    Kind.MISTAKE,
    Kind.REWIND,
    Kind.ACCEPT,
    Kind.SPARE,
    Kind.LACKING,
}
_PAUSED_TOO: Final = _ASIDE | {Kind.STOP, Kind.CHOICES, Kind.MORE_CHOICES}


def _telling(message: Callable[[State, Stage], Message]) -> _Handler:
    """Return what answers with a message alone."""
    return lambda state, _, stage: unchanged(state, Say(message(state, stage)))


_BEFORE_NEXT: Final = frozenset(
    {Mode.MENDING, Mode.LOOKING, Mode.READING, Mode.HELD, Mode.CONFIRMING, Mode.LEFT_OVER}
)


def _where(state: State, _command: Command, stage: Stage) -> Outcome:
    """Tell the place, and where something comes before the next step what is to be done now."""
    place = Say(where(state, stage))
    if state.mode not in _BEFORE_NEXT:
        return unchanged(state, place)
    now = present(state, stage)
    now = replace(now, telling="place") if isinstance(now, Hold) else now
    now = replace(now, telling="cause") if isinstance(now, MendQuestion) else now
    return unchanged(state, place, Say(now))


def _refusing(why: WhyNot) -> _Handler:
    """Return what refuses a command that has no meaning of its own here."""
    return lambda state, _, stage: refused(state, stage, why)


def _speaking(direction: Literal[-1, 1]) -> _Handler:
    """Return what changes the speed of the voice."""
    return lambda state, *_: unchanged(state, ChangeRate(direction), Say(NewRate(direction)))


_HANDLERS: Final[dict[Kind, _Handler]] = {
    Kind.DONE: walk.done,
    Kind.BACK: walk.back,
    Kind.REPEAT: _telling(present),
    Kind.READ_BACK: read_back,
    Kind.WHERE: _where,
    Kind.CAUTIONS: all_cautions,
    Kind.COUNT: walk.count,
    Kind.PAUSE: lambda state, *_: accepted(replace(state, is_paused=True), "confirm", Paused()),
    Kind.RESUME: _refusing(WhyNot.NOT_PAUSED),
    Kind.SLOWER: _speaking(-1),
    Kind.FASTER: _speaking(1),
    Kind.UNDO: undo,
    Kind.MISTAKE: _mistake,
    Kind.REWIND: _rewind,
    Kind.ACCEPT: _ask_accept,
    Kind.MEND: mending.ask,
    Kind.SPARE: heddle,
    Kind.LACKING: heddle,
    Kind.STOP: _stop,
    Kind.YES: _refusing(WhyNot.NOTHING_ASKED),
    Kind.NO: _refusing(WhyNot.NOTHING_ASKED),
    **dict.fromkeys(TELLING, told_otherwise),
    **dict.fromkeys((Kind.KEEP_GOING, Kind.WAIT, Kind.MORE_TIME, Kind.LESS_TIME), paced),
    **dict.fromkeys((Kind.HELP, Kind.CHOICES, Kind.MORE_CHOICES), _telling(_help)),
    Kind.LOOK: look,
    Kind.NEW_PLAN: lambda state, *_: unchanged(state, ChangePlan("look")),
    Kind.WRONG_EDGE: _wrong_edge,
}
