"""The wording of errors, of what they do to the cloth, and of their mending step by step."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain, repeat
from typing import Final

from companion.base.text import counted, sentence, span, uncapital
from companion.command import Kind, spoken_form
from companion.diagnosis.slips import Advice
from companion.guide import mend_messages as m
from companion.guide.events import HeddlesReported, MendAccount
from companion.guide.terms import Do, Task
from companion.wording.choices import yes_or_no
from companion.wording.slips import (
    MOST_TOLD,
    diagnosis_sentences,
    effect_sentence,
    mend_sentence,
)
from companion.wording.voice import Style

MEND_LEFT: Final = "You left the mend unfinished; it is not on record."
ADVICE: Final = {
    Advice.READ_BACK: (
        "That is more than a slip or two: read back the group, and feel along as you hear it."
    ),
    Advice.ORDER_UNSEEN: "Numbers alone cannot tell the order: name the shafts you feel.",
    Advice.CONTRADICTION: "The numbers and what you felt do not fit together: look once more.",
}
FEEL_AGAIN: Final = "That is more than a slip or two: feel along once more, end by end."
FELT: Final = {"end": "the shafts you feel", "dent": "the ends in each dent"}
"""What is named where these are counted."""
thread_anew = (
    "All from end {number} on would have to be threaded again. Say {done} to leave it.".format
)
"""Of what no mend can be walked for where it is found."""
feel_first = "First name {}: they tell the place.".format
_MOST_SUSPECTED: Final = 2
_TASKS: Final = {
    Do.FIND: "Find {ends}: it is on shaft {shaft}. Pull it out.",
    Do.FIND_EXTRA: "Find the extra end on shaft {shaft}, just before end {first}.",
    Do.FIND_DOUBLED: "Find the heddle of {ends}: it holds two.",
    Do.FIND_MISSED: "Find {ends}, left out after end {before}.",
    Do.FIND_FIRST: "Find {ends}, left out where you began.",
    Do.TIE: "Tie a repair heddle on shaft {shaft} at that spot.",
    Do.DRAW_REPAIR: "Draw {ends} through the repair heddle, on shaft {shaft}.",
    Do.DRAW_EMPTY: "Draw {ends} through the empty heddle there, on shaft {shaft}.",
    Do.PULL: "Pull {ends} out of the heddles, and of the reed if they are in it.",
    Do.PULL_EXTRA: "Pull {number} out for good{back}.",
    Do.DRAW: "Draw {ends} through its heddle on shaft {shaft}.",
    Do.DENT: "Put {ends} into dent {shaft}.",
    Do.LEAVE: "Leave the empty heddle of shaft {shaft} as it hangs; it does little harm.",
    Do.PULL_REED: "Pull {ends} out of the reed, so that you can move them by one dent.",
    Do.SLEY: "{empty}Put {ends} into the next dent, towards the edge you began at.",
}


def _likely(causes: Iterable[str]) -> str:
    """Return causes, each a sentence or more, the likeliest first."""
    told = zip(chain(["Most likely"], repeat("Or")), map(uncapital, causes), strict=False)
    return " ".join(f"{how} {cause}" for how, cause in told)


def suspected(message: m.Suspected, style: Style) -> str:
    """Return the likeliest causes of all that was reported."""
    parts, found = [], message.diagnoses
    if found:
        most = 1 if len(found[0].slips) > MOST_TOLD else _MOST_SUSPECTED
        parts.append(_likely(diagnosis_sentences(each, most=MOST_TOLD) for each in found[:most]))
    advised = ADVICE if message.may_read else {**ADVICE, Advice.READ_BACK: FEEL_AGAIN}
    parts += [advised[advice] for advice in message.advice]
    if found and message.may_mend:
        parts.append(_what_first(message, style) if found[0].is_placed else f"Name {FELT['end']}.")
    return " ".join(parts) or "Nothing else is known to be wrong here."


def _what_first(message: m.Suspected, style: Style) -> str:
    """Return what to say where the place is known: to mend, or to leave what no walk mends."""
    if message.has_way:
        return f"Say {spoken_form(Kind.MEND, style.language)} to put it right."
    done = spoken_form(Kind.DONE, style.language)
    return thread_anew(number=message.diagnoses[0].first, done=done)


def heddles_reported(message: HeddlesReported, _style: Style) -> str:
    """Return the heddles over and missing, as reported so far."""
    told = _heddles(message.spare)
    return sentence("; ".join(told)) if told else "As many heddles are left as planned."


def mend_question(message: m.MendQuestion, style: Style) -> str:
    """Return the offer to put something right; in full, what is wrong and what it does first."""
    answers = yes_or_no(style, other=Kind.MEND if message.others else None)
    told = diagnosis_sentences(message.diagnosis, most=MOST_TOLD)
    wrong = "" if message.telling == "way" else told
    effect = message.effect if message.telling == "whole" else None
    does = "" if effect is None else effect_sentence(effect)
    return " ".join(filter(None, (wrong, does, mend_sentence(message.mend), answers)))


def task_words(task: Task) -> str:
    """Return a task in its words."""
    empty = f"Leave {counted(task.shaft, 'dent')} empty. " if task.shaft else ""
    return _TASKS[task.do].format(
        ends=span("end", task.first, task.last) if task.first else "the floating selvedge too",
        first=task.first,
        before=task.first - 1,
        shaft=task.shaft,
        number=counted(task.shaft, "end"),
        back=", from there back" if task.shaft > 1 else "",
        empty=empty,
    )


def mended(mend: MendAccount) -> str:
    """Return a mend that was made: before, what it was taken for, and what was done."""
    before = [
        *([] if mend.count is None else [f"{mend.count} instead of {mend.expected}"]),
        *_heddles(mend.spare),
        *([f"felt {', '.join(map(str, mend.felt))}"] if mend.felt else []),
    ]
    told = f", reported {'; '.join(before)}" if before else ""
    found, done = diagnosis_sentences(mend.diagnosis), mend_sentence(mend.mend)
    return f"{place(mend)} put right{told}. {found} {done}"


def place(mend: MendAccount) -> str:
    """Return where something was mended."""
    return f"Group {mend.group}" if mend.group else "The whole warp"


def _heddles(spare: Iterable[tuple[int, int]]) -> list[str]:
    return [
        f"shaft {shaft}, {counted(abs(number), 'heddle')} {'over' if number > 0 else 'too few'}"
        for shaft, number in spare
    ]


_LEFT: Final = {
    "dent": (
        "How many dents are left empty after the last one used?",
        "Another number means a dent left empty or filled twice.",
    ),
    "heddle": (
        "Shaft {shaft}: how many heddles are left over?",
        "Another number means an end on a wrong shaft, or a heddle passed over.",
    ),
}
"""What is asked, and what that check can tell."""


def left_question(message: m.LeftQuestion, _style: Style) -> str:
    """Return the question for what is left over, and in full what that check can tell."""
    left = message.left
    asked, means = _LEFT[left.what]
    are = "is" if left.planned == 1 else "are"
    told = f"{asked.format(shaft=left.shaft)} {left.planned} {are} planned."
    return f"{told} {means}" if message.is_full else told
