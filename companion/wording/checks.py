"""The wording of counts, holds, read-backs and what mends them."""

from typing import Final

from companion.base.text import capital, counted, listed, plural, span, uncapital
from companion.command import Kind, spoken_form
from companion.guide import messages as m
from companion.guide.events import FeltWrong, Overridden, TakenBack
from companion.guide.terms import Cause, CauseKind
from companion.job import LeftOver, Stage, StageName
from companion.wording.choices import yes_or_no
from companion.wording.mending import FELT
from companion.wording.slips import diagnosis_shortly, is_one_thing
from companion.wording.stages import count_asked
from companion.wording.voice import Style

_CAUSES: Final = {
    CauseKind.CONFIRMED_TWICE: ("a step was confirmed twice", "some steps were confirmed twice"),
    CauseKind.NOT_CONFIRMED: (
        "a step was not confirmed",
        "some steps were not confirmed",
    ),
    CauseKind.DENT_SKIPPED: (
        "the ends of one dent are spread over two",
        "the ends of some dents are spread over more dents",
    ),
    CauseKind.DOUBLED_AS_ONE: (
        "two ends in one heddle were counted as one",
        "ends that share a heddle were counted as one",
    ),
    CauseKind.FLOATING_COUNTED: (
        "the floating selvedge was counted too",
        "the floating selvedges were counted too",
    ),
    CauseKind.EMPTY_COUNTED: (
        "a dent was counted that stays empty",
        "dents were counted that stay empty",
    ),
    CauseKind.ENDS_FOR_DENTS: ("you counted the ends, not the dents",) * 2,
    CauseKind.STEP_LEFT_OUT: ("a step of {ends} was left out",) * 2,
    CauseKind.STEP_TWICE: ("a step of {ends} was threaded twice",) * 2,
}
OWN_CAUSES: Final[dict[StageName, tuple[str, str]]] = {
    "wind": ("a round was left out", "a round was wound twice"),
    "raddle": ("the ends of two sections are in one", "the ends of one section are in two"),
    "tie-on": ("a bout was passed over", "a bout was divided into two"),
    "weave": ("a pick was left out", "a pick was woven twice"),
    "tie-up": ("a tie was left out", "a shaft is tied that should hang free"),
    "wind-sections": (
        "an end has run out or was not set up",
        "an end of the next section came along",
    ),
    "knot": ("two new ends went into one knot", "one new end was knotted to two old ones"),
    "peg": ("a peg was left out", "a peg sits where none belongs"),
    "heddles": ("heddles are missing here", "heddles are here that are not needed"),
    "move-heddles": ("heddles are missing here", "heddles are here that are not needed"),
}
"""The slip of each kind of work that makes a count too low, and the one that makes it too high."""
_OWN_OF_SEVERAL: Final[dict[StageName, tuple[str, str]]] = {
    "wind": ("some rounds were left out", "some rounds were wound twice"),
    "raddle": (
        "the ends of some sections went into others",
        "some sections' ends are spread over more",
    ),
    "tie-on": ("some bouts were passed over", "some bouts were divided"),
    "weave": ("some picks were left out", "some picks were woven twice"),
    "tie-up": ("some ties were left out", "some shafts are tied that should hang free"),
    "wind-sections": (
        "some ends have run out or were not set up",
        "some ends of the next section came along",
    ),
    "knot": ("some knots took in two new ends", "some new ends were knotted to two old ones"),
    "peg": ("some pegs were left out", "some pegs sit where none belongs"),
}
"""The same of several; what is not here is told alike of one and of several."""
_PLACE_LOST: Final = frozenset({CauseKind.CONFIRMED_TWICE, CauseKind.NOT_CONFIRMED})
_MISCOUNTED: Final = frozenset(
    {
        CauseKind.DOUBLED_AS_ONE,
        CauseKind.FLOATING_COUNTED,
        CauseKind.EMPTY_COUNTED,
        CauseKind.ENDS_FOR_DENTS,
    }
)
"""Where the work may well be right and the count is wrong."""
_MOST_TOLD: Final = 3
"""Causes told at once."""


def count_question(message: m.CountQuestion, _style: Style) -> str:
    """Return the question for a count."""
    group = message.group.number
    asked = count_asked(message.stage, is_threaded=message.is_threaded)
    if message.is_so_far:
        return f"Group {group} so far: {uncapital(asked)}"
    return f"Group {group}. {asked}" if group == 1 or message.is_full else "How many?"


def group_end(message: m.GroupEnd, _style: Style) -> str:
    """Return the end of a group that is not counted."""
    number, expected = message.group.number, message.group.expected
    if not expected:
        return f"Group {number} is complete."
    return f"Group {number} is complete: {counted(expected, message.stage.counted)}."


def hold(message: m.Hold, style: Style) -> str:
    """Return a count that differs from the plan, and what follows from it."""
    after = after_difference(message, style)
    is_told = message.telling != "causes" or not message.is_explained
    is_right = message.count == message.expected
    is_told = (is_told or is_right) and message.telling != "again"
    return f"{difference(message)} {after}" if is_told else after


def after_difference(message: m.Hold, style: Style) -> str:
    """Return to count again, or what it most likely means and the commands that help."""
    if message.count == message.expected:
        return _still_felt(message, style)
    if not message.is_explained:
        return "Count once more."
    if message.telling == "short":
        return f"{_likely(_causes(message)[:1])} {_what_first(message, style)}"
    if message.telling == "place":
        return _what_first(message, style)
    ways = _ways(message, style)
    return ways if message.telling == "again" else f"{_likely(_causes(message))} {ways}"


def _likely(causes: list[str]) -> str:
    """Return causes in one sentence, the likeliest first."""
    return f"Most likely {', or '.join(causes)}."


def _still_felt(message: m.Hold, style: Style) -> str:
    """Return what was felt wrong where the number is right, and what may follow."""
    told, ways = "what you felt is not as planned.", _ways(message, style)
    if _is_found(message):
        mend, accept = (spoken_form(kind, style.language) for kind in (Kind.MEND, Kind.ACCEPT))
        ways = f"Say {mend} to put it right, or {accept} to let it stand."
    if _is_found(message) and is_one_thing(message.diagnoses[0]):
        told = f"as you felt it, {diagnosis_shortly(message.diagnoses[0])}."
    return ways if message.telling == "again" else f"But {told} {ways}"


def _what_first(message: m.Hold, style: Style) -> str:
    """Return what to do first: to mend what is found, to find it by touch, or to put it right."""
    if _is_found(message):
        return f"Say {spoken_form(Kind.MEND, style.language)} to put it right."
    more = spoken_form(Kind.MISTAKE, style.language)
    return f"{capital(_do_first(message))}, or say {more} for more."


def _is_found(message: m.Hold) -> bool:
    """Return whether what was felt tells what is wrong, and where."""
    return message.is_felt and bool(message.diagnoses) and message.diagnoses[0].is_placed


def _ways(message: m.Hold, style: Style) -> str:
    kinds = (Kind.MEND if message.diagnoses else Kind.READ_BACK, Kind.ACCEPT)
    say = f"say {listed((spoken_form(kind, style.language) for kind in kinds), 'or')}."
    return capital(say) if _is_found(message) else f"{capital(_do_first(message))}, or {say}"


def _do_first(message: m.Hold) -> str:
    """Return what is to be done with the hands: to count, to feel, or what the slip asks for."""
    if not message.is_felt and message.causes and message.causes[0].kind in _MISCOUNTED:
        return "count once more"
    felt = FELT.get(message.stage.counted) if message.stage.has_shafts else None
    return f"name {felt}" if felt else "put it right"


def difference(message: m.Differs) -> str:
    """Return a count that differs from the plan, or is right where something else is not."""
    if message.count == message.expected:
        return f"{message.count}, right."
    so_far = " so far" if message.is_so_far else ""
    are = "is" if message.expected == 1 else "are"
    return f"{message.count}{so_far}, but {message.expected} {are} planned."


def warned(message: m.Differs, _style: Style) -> str:
    """Return a count that differs and may stand, and what it most likely means."""
    return f"{difference(message)} {_likely(_causes(message)[:1])} That may stand."


def _causes(message: m.Differs) -> list[str]:
    """Return the few likeliest causes: ways of counting, then slips, then the walk itself.

    Where slips were felt the likeliest is told, and one other if each is short: the mends offered
    tell the rest. A number alone is not explained by different slips at once: too many would fit.
    """
    found = message.diagnoses if isinstance(message, m.Hold) else ()
    is_felt = isinstance(message, m.Hold) and message.is_felt
    slips = [diagnosis_shortly(each) for each in found if is_felt or is_one_thing(each)]
    if is_felt and slips:
        return slips[: 1 + is_one_thing(found[0])]
    lost: list[str] = []
    others: list[str] = []
    for cause in message.causes:
        (lost if cause.kind in _PLACE_LOST else others).append(_cause(cause, message.stage))
    return [*[*others, *slips][: _MOST_TOLD - len(lost)], *lost]


def _cause(cause: Cause, stage: Stage) -> str:
    if cause.kind in {CauseKind.OWN_TOO_FEW, CauseKind.OWN_TOO_MANY}:
        causes = OWN_CAUSES | _OWN_OF_SEVERAL if cause.times > 1 else OWN_CAUSES
        own = causes[stage.work][cause.kind is CauseKind.OWN_TOO_MANY]
        givers = [f"shaft {shaft} has {spare}" for shaft, spare in cause.givers]
        return f"{own}; {listed(givers)} to spare" if givers else own
    one, several = _CAUSES[cause.kind]
    return (one if cause.times == 1 else several).format(ends=counted(cause.size, "end"))


def reading_start(message: m.ReadingStart, _style: Style) -> str:
    """Return the opening of a read-back."""
    what = f"Reading group {message.group.number}" if message.group else "Reading"
    place = f"{message.item} {message.first}" if message.first else "the edge"
    ahead = ", not confirmed yet" if message.is_ahead else ""
    return f"{what} from {place}{ahead}."


def look_question(message: m.LookQuestion, _style: Style) -> str:
    """Return what a group that is looked at holds, and what to do."""
    ends = [step for step in message.steps if step.last_end]
    held = f", {span('end', ends[0].first_end, ends[-1].last_end)}" if ends else ""
    return f"Group {message.group.number}{held}: name {FELT[message.stage.counted]}."


_FELT_WRONG: Final = {
    ("end", False): "End {at}: shaft {planned} is planned, you feel shaft {felt}.",
    ("end", True): "The plan ends here with end {at}; the next you feel is on shaft {felt}.",
    ("dent", False): "Dent {at}: {ends_planned} planned, you feel {felt}.",
    ("dent", True): "The plan ends here with dent {at}; the next you feel holds {ends_felt}.",
}
"""By what is felt in order, and whether it is beyond the plan."""


def felt_wrong(message: FeltWrong, _style: Style) -> str:
    """Return the first end, or dent, where what is felt leaves the plan."""
    what = "dent" if message.item == "dent" else "end"
    return _FELT_WRONG[what, message.is_beyond].format(
        at=message.last_end,
        planned=message.planned,
        felt=message.felt,
        ends_planned=counted(message.planned, "end"),
        ends_felt=counted(message.felt, "end"),
    )


def rewind_question(message: m.RewindQuestion, style: Style) -> str:
    """Return the question before a rewind."""
    number = message.stage.number_of(message.step)
    place = f"{message.stage.item} {number}" if number else "the floating selvedge"
    groups = counted(message.groups, "group")
    if not message.uncounted:
        groups = counted(message.groups, "counted group")
    elif message.uncounted < message.groups:
        groups += f", {message.groups - message.uncounted} of them counted"
    opened = f" and opens {groups}" if message.groups else ""
    return (
        f"Go back to {place}? That takes back {counted(message.steps, 'step')}{opened}. "
        f"{yes_or_no(style)}"
    )


def taken_back(message: TakenBack, _style: Style) -> str:
    """Return how many steps are confirmed no more, and what that opens."""
    steps = message.last - message.first + 1
    taken = "one step" if steps == 1 else counted(steps, "step")
    count = "Count again" if message.is_counted else "Count"
    again = f" {count} from group {message.reopened} on."
    return f"Back {taken}.{again if message.reopened else ''}"


def catch_up_question(message: m.CatchUpQuestion, style: Style) -> str:
    """Return the question whether steps were done that are not confirmed."""
    stage, step = message.stage, message.step
    upto = step.last_end if stage.item == "end" else stage.number_of(step)
    are = "Is the next step" if message.steps == 1 else f"Are the next {message.steps} steps"
    place = f", up to {stage.item} {upto}" if message.steps > 1 and upto else ""
    confirmed = f"only {message.expected} {'is' if message.expected == 1 else 'are'} confirmed"
    confirmed = confirmed if message.expected else "none is confirmed yet"
    return f"{message.count}, but {confirmed}. {are} done too{place}? {yes_or_no(style)}"


def accept_question(message: m.AcceptQuestion, style: Style) -> str:
    """Return the question before a count that differs is let stand."""
    number = counted(message.count, message.stage.counted)
    how = f"with {number} instead of {message.expected}"
    how = "as you felt it" if message.count == message.expected else how
    return f"Let group {message.group.number} stand {how}? {yes_or_no(style)}"


def override(message: Overridden) -> str:
    """Return what was let stand: a count, or what was felt."""
    reason = f" Reason: {message.reason}." if message.reason else ""
    group = f"Group {message.group} stands"
    if message.count == message.expected:
        return f"{group} as it was felt, not as planned.{reason}"
    what = f"{_left_over(message.left)}:" if message.left else f"{group} with"
    return f"{what} {message.count} instead of {message.expected}.{reason}"


def exception(message: Overridden) -> str:
    """Return what was let stand, for whoever finds it so: with all that was felt there."""
    felt = f" Felt: {', '.join(map(str, message.felt))}." if message.felt else ""
    return f"{override(message)}{felt}"


def _left_over(left: LeftOver) -> str:
    where = f" on shaft {left.shaft}" if left.shaft else ""
    return f"{plural(left.what).capitalize()} left over{where}"
