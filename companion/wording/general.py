"""The wording of everything around the steps: beginnings, places, refusals, help and endings."""

from typing import Final

from companion.base.text import capital, counted, listed, numbered, sentence, span, uncapital
from companion.command import Kind, not_a_command, quoted, spoken_form
from companion.diagnosis.slips import Advice
from companion.guide import messages as m
from companion.guide.place import unit_name
from companion.guide.terms import WhyNot
from companion.job import Stage, Step
from companion.job.contents import ClothFault, Section
from companion.wording.callouts import describe, in_reed
from companion.wording.callouts import parts as steps_told
from companion.wording.mending import ADVICE, FEEL_AGAIN, FELT, feel_first, place, thread_anew
from companion.wording.openings import begun, opening
from companion.wording.stages import brief_title, count_asked, group_name, stripes_at_cross, title
from companion.wording.voice import Style
from companion.wording.weaving import shed_told

_MODES: Final = {
    m.Mode.READING: "A group is being read.",
    m.Mode.MENDING: "You are mending.",
    m.Mode.PAUSED: "You are resting.",
}
_NEXT_UNTOLD: Final = frozenset({m.Mode.HELD, m.Mode.CONFIRMING, m.Mode.COUNTING})
"""Where something comes before the next step, so that only the group is told."""
MOST_EXPLAINED: Final = 4
"""Commands explained at once by help, as many as are kept in mind. Our own choice."""
_ORDER_UNTOLD: Final = "A count does not check the order."
_GLOSSES: Final = {
    Kind.DONE: "next",
    Kind.BACK: "one step back",
    Kind.COUNT: "your count",
    Kind.ACCEPT: "let it stand",
    Kind.READ_BACK: "the group again",
    Kind.MISTAKE: "something is wrong",
    Kind.UNDO: "the last change",
    Kind.RESUME: "go on",
    Kind.MEND: "put it right",
    Kind.YES: "do it",
    Kind.NO: "leave it",
    Kind.REPEAT: "say it again",
    Kind.STOP: "leave; your place is kept",
}
_OWN_GLOSSES: Final = {
    m.Mode.COUNTING: {Kind.DONE: "as planned"},
    m.Mode.READING: {
        Kind.DONE: "read on",
        Kind.BACK: "the step before",
        Kind.COUNT: "the shafts you feel",
        Kind.MISTAKE: "go back there",
        Kind.RESUME: "end the reading",
    },
    m.Mode.HELD: {Kind.COUNT: "count again", Kind.MISTAKE: "what it may mean"},
    m.Mode.LOOKING: {Kind.DONE: "back to your place"},
    m.Mode.CONFIRMING: {
        Kind.DONE: "as planned",
        **dict.fromkeys((Kind.MEND, Kind.WRONG_EDGE), "another way"),
    },
}
_REFUSALS: Final = {
    WhyNot.COUNT_WANTED: "Count this group first.",
    WhyNot.HELD: "Count once more first, or say {accept} to let it stand.",
    WhyNot.NOT_PAUSED: "You are not resting.",
    WhyNot.FINISHED: "This stage is complete.",
    WhyNot.NOTHING_ASKED: "Nothing was asked.",
    WhyNot.NOTHING_CONFIRMED: "This is the first step; nothing is confirmed yet.",
    WhyNot.NOTHING_TO_UNDO: "There is no change to undo yet.",
    WhyNot.NOTHING_HELD: "No count is in doubt here.",
    WhyNot.COUNT_ALL: "Count the whole group first, then say {accept} to let it stand.",
    WhyNot.ONE_NUMBER: "Give one number here.",
    WhyNot.NO_EDGE: "This stage does not begin at an edge.",
    WhyNot.NOTHING_THREADED: "No end is in a heddle yet.",
    WhyNot.TOO_SOON: "Count first; press once more when you have.",
    WhyNot.ON_TREADLES: (
        "No foot pedal, nor Page Down or Page Up, while you weave: your feet are on the treadles. "
        "Say keep going, or press Enter by hand."
    ),
    WhyNot.JUST_BEGUN: "This has only just begun: press once more for the first step.",
    WhyNot.NOTHING_TO_COUNT: "There is nothing to count in this group.",
    WhyNot.NO_HEDDLES: "Heddles are told only while you thread.",
    WhyNot.NOTHING_KNOWN: "Nothing is known to be wrong; count, or name what you feel.",
    WhyNot.MENDING: "Finish the mend first, step by step.",
    WhyNot.NO_SHAFTS: "Only floating selvedges are here, which are in no heddle.",
    WhyNot.PAUSED: "You are resting; say {resume} to go on.",
    WhyNot.READING: "A group is being read: say {done} to read on, or {resume} to leave it.",
    WhyNot.PLACE_UNKNOWN: "I cannot tell at which end. Say {look}, and name what you feel there.",
    WhyNot.UNEXPLAINED: ADVICE[Advice.READ_BACK],
    WhyNot.UNREADABLE: FEEL_AGAIN,
    WhyNot.FEEL_FIRST: feel_first("{felt}"),
    WhyNot.NOT_FROM_HERE: thread_anew(number="{number}", done="{done}"),
    WhyNot.NO_SUCH_GROUP: "Group {number} is not in this plan; the last is group {limit}.",
    WhyNot.NOTHING_IN_GROUP: "Nothing is done in this group yet.",
    WhyNot.NO_SUCH_SHAFT: "Shaft {number} is not on this loom; the last is shaft {limit}.",
    WhyNot.NO_SUCH_END: "{named} is not in this plan; the last is {item} {limit}.",
    WhyNot.NOT_YET: "{named} is not confirmed yet.",
    WhyNot.GROUP_NOT_BEGUN: "Group {number} is not begun yet.",
    WhyNot.PACE_TOO_SLOW: "The pace can be 1 to {limit} seconds, not {number}.",
    WhyNot.TOO_MANY_AT_A_TIME: "A callout can give 1 to {limit} ends, not {number}.",
}


_NAMED: Final = frozenset({"beam", "first-picks"})
"""Stages whose groups are named when they begin; the others' names only run on."""
_CONFIRM_FAULTS: Final = "If you find one, say {look}; confirm each that you do not find."


def welcome(message: m.Welcome, _style: Style) -> str:
    """Return the opening of a stage."""
    stage = message.stage
    told = begun(stage, message.opening)
    size = f"{counted(len(stage.steps), 'step')} in {counted(len(stage.groups), 'group')}."
    return f"{told} {size}" if message.opening == "whole" else told


def look_form(language: str) -> str:
    """Return the words that look at any group, and ask which."""
    return spoken_form(Kind.LOOK, language, is_bare=True)


def group_start(message: m.GroupStart, style: Style) -> str:
    """Return the opening of a group."""
    group, stage = message.group, message.stage
    name = group_name(group, stage) if stage.name in _NAMED else ""
    of = f" of {len(stage.groups)}" if group.number == 1 else ""
    called = f"Group {group.number}{of}{f', {name}' if name else ''}."
    faults = _CONFIRM_FAULTS.format(look=look_form(style.language))
    is_faults = isinstance(stage.steps_of(group)[0].content, ClothFault)
    more = faults if is_faults else stripes_at_cross(group, stage)
    return f"{called} {more}".rstrip()


def where(message: m.Where, _style: Style) -> str:
    """Return where the walk is and what is left; where something else comes first, in brief."""
    stage, step, mode = message.stage, message.step, message.mode
    group = f"Group {message.group.number} of {len(stage.groups)}."
    if mode in {m.Mode.LEFT_OVER, m.Mode.FINISHED}:
        return "That was the last step."
    if mode is m.Mode.COUNTING:
        so_far = "So far: " if message.confirmed < message.group.last_step else ""
        asked = count_asked(stage, is_threaded=message.is_threaded)
        return f"{group} {so_far}{uncapital(asked) if so_far else asked}"
    if mode is not m.Mode.WALKING or step is None:
        when = "then" if mode is m.Mode.MENDING else "next"
        is_told = step is not None and mode not in _NEXT_UNTOLD
        following = sentence(f"{when} {_named(step, stage)}") if step and is_told else ""
        return " ".join(filter(None, (_MODES.get(mode, ""), following, group)))
    following = describe(step, in_reed(stage) if message.is_threaded else stage)
    next_told = sentence(f"next, {following}")
    if not message.confirmed:
        return f"{begun(stage, 'brief')} {next_told} {_to_go(message)}"
    tells_own = stage.counted == "pick" or isinstance(step.content, Section)
    colour = "" if tells_own else step.colour
    about = ", ".join(filter(None, [shed_told(step), colour, unit_name(stage, step.unit)]))
    told = [
        next_told,
        about and sentence(about),
        group,
        stripes_at_cross(message.group, stage),
        _to_go(message),
    ]
    return " ".join(filter(None, told))


def _named(step: Step, stage: Stage) -> str:
    """Return the name of a step, or where it has none all that is told of it."""
    told = steps_told([step], stage)
    return told.name or str(told)


def _to_go(message: m.Where) -> str:
    """Return how many steps there are to go, in all, and in the group where groups hold several."""
    steps = message.stage.steps
    left = len(steps) - message.confirmed
    in_group = message.group.last_step - message.confirmed
    is_part = in_group < left and len(message.stage.groups) < len(steps)
    is_part = is_part and message.confirmed > 0
    return f"{in_group} to go in it, {left} in all." if is_part else f"{left} to go."


def refused(message: m.Refused, style: Style) -> str:
    """Return why a command changes nothing here."""
    forms = {kind: spoken_form(Kind(kind), style.language) for kind in ("done", "resume", "accept")}
    return _REFUSALS[message.why].format(
        number=message.number,
        limit=message.limit,
        item=message.item,
        felt=FELT.get(message.item, FELT["end"]),
        named=capital(f"{message.item} {message.number}"),
        look=look_form(style.language),
        **forms,
    )


def help_text(message: m.Help, style: Style) -> str:
    """Return the likeliest things to say now, each with what it does; choices reads the rest."""
    glosses = _GLOSSES | _OWN_GLOSSES.get(message.mode, {})
    untold = [_ORDER_UNTOLD] if message.mode is m.Mode.COUNTING and message.item == "end" else []
    most = MOST_EXPLAINED - len(untold)
    glossed = [kind for kind in message.kinds if kind in glosses][:most]
    lines = [sentence(f"{_form(kind, style.language)}: {glosses[kind]}") for kind in glossed]
    rest = sentence(f"{_form(Kind.CHOICES, style.language)}: the rest")
    return " ".join([*lines, *untold, rest])


def help_hint(_message: m.HelpHint, style: Style) -> str:
    """Return how to hear the whole opening, and how to ask for help."""
    every, can = (spoken_form(kind, style.language) for kind in (Kind.TELL_ALL, Kind.HELP))
    return f'Say "{every}" for more, "{can}" for the words.'


def _form(kind: Kind, language: str) -> str:
    return spoken_form(kind, language, number="a number")


def unknown(message: m.Unknown, style: Style) -> str:
    """Return what was heard that is not a command, and what can be said now."""
    forms = (spoken_form(kind, style.language) for kind in message.kinds if kind is not Kind.COUNT)
    number = "a number, " if Kind.COUNT in message.kinds else ""
    choices = quoted(message.closest) or f"{number}{quoted(forms)}"
    return not_a_command(message.heard, choices, message.example)


def break_reminder(minutes: int) -> str:
    """Return the reminder to rest after so many minutes of work; it is said as it is printed."""
    return (
        f"You have been at work for {counted(minutes, 'minute')}. Rest your eyes and hands, "
        "get up and stretch."
    )


def welcome_back(message: m.WelcomeBack, _style: Style) -> str:
    """Return the place a session goes on from, how to find it by touch, and what is left."""
    stage, done = message.stage, message.confirmed
    hang = message.hanging if message.is_whole else None
    hanging = [f"In the heddles already, and to be sleyed: {span('end', *hang)}."] if hang else []
    if not done:
        return " ".join([begun(stage, "whole" if message.is_whole else "brief"), *hanging])
    named = (title if message.is_whole else brief_title)(stage)
    if message.is_counting and not message.is_whole:
        return sentence(named)
    last = stage.steps[done - 1]
    place, by_touch = _group_by_touch(message), _last_by_touch(message)
    told = "" if message.is_whole else by_touch
    parts = [sentence(", ".join(filter(None, (named, place, told))))]
    if message.is_whole:
        parts.append(opening(stage, is_whole=False))
        parts += [] if by_touch else [sentence(f"last done, {describe(last, stage)}")]
        felt = _felt(last, stage)
        parts.append(f"Check it by touch: {felt}." if felt else "Make sure of that.")
    parts += hanging
    if message.read_since:
        parts.append(f"Read since, but not confirmed: {span('end', *message.read_since)}.")
    return " ".join(parts)


def _felt(last: Step, stage: Stage) -> str:
    """Return what is to be felt where the last confirmed step is, to follow "check it"."""
    if not last.shafts and not last.is_floating:
        return ""
    if stage.counted == "dent" or last.is_floating:
        held = len(last.shafts) or 1
        return f"the last filled dent is dent {last.dents[-1]} and holds {counted(held, 'end')}"
    dent = f" and in dent {last.dents[-1]}" if last.dents else ""
    return f"end {last.last_end} is on shaft {last.shafts[-1]}{dent}"


def _group_by_touch(message: m.WelcomeBack) -> str:
    number = message.group.number
    if message.confirmed < message.group.first_step:
        return f"group {number}, not begun"
    so_far = f", {counted(message.in_group, message.stage.counted)} so far"
    return f"group {number}{so_far if message.in_group else ''}"


def _last_by_touch(message: m.WelcomeBack) -> str:
    """Return where the last end is to be felt, to follow the place; "" where it is in no heddle."""
    last = message.stage.steps[message.confirmed - 1]
    if message.stage.counted != "end" or not last.shafts:
        return ""
    dent = f" in dent {last.dents[-1]}" if last.dents else ""
    which = "the last" if message.in_group else "the last end"
    return f"{which} on shaft {last.shafts[-1]}{dent}"


def goodbye(message: m.Goodbye, style: Style) -> str:
    """Return how far the work is, and how it is taken up again where that can be typed."""
    kept = f"Your place is kept: {message.confirmed} of {counted(message.steps, 'step')} done."
    is_open = style.is_typed and not message.is_finished
    return f"{kept} Type companion resume to go on." if is_open else kept


def finished(message: m.Finished, _style: Style) -> str:
    """Return the totals of a stage, and which of its groups are not as planned."""
    stage = message.stage
    counts = sum(group.expected for group in stage.groups)
    total = counted(counts, stage.counted) if counts else counted(len(stage.steps), "step")
    parts = [f"{title(stage)} is complete: {total} in {counted(len(stage.groups), 'group')}"]
    differ = [given.group for given in message.overrides if not given.left]
    parts += [f"not as planned: {numbered('group', differ)}"] if differ else []
    left = [given.left for given in message.overrides if given.left]
    shafts = [each.shaft for each in left if each.shaft]
    parts += [f"heddles left over not as planned: {numbered('shaft', shafts)}"] if shafts else []
    parts += ["dents left over not as planned"] if len(left) > len(shafts) else []
    parts += [f"not counted: {counted(message.uncounted, 'group')}"] if message.uncounted else []
    put_right = dict.fromkeys(uncapital(place(each)) for each in message.mended)
    parts += [f"put right: {listed(put_right)}"] if put_right else []
    return " ".join(map(sentence, parts))
