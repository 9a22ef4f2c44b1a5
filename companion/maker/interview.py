"""Asking the questions one at a time: where the interview is, and what an answer does to it."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

from companion.base.errors import CompanionError
from companion.base.text import capital
from companion.maker.asking import always, choice
from companion.maker.plan_writer import Made, make
from companion.maker.question import Answer, AnswerError, Question, unfit
from companion.maker.questions import BRIEF, asked, read_ahead
from companion.maker.reading import plain_words
from companion.maker.reading_draft import WIF
from companion.plan.draft.draft import Draft
from companion.plan.wif.reader import read_wif

HOW: Final = (
    "Enter takes the answer in brackets, which is said last. Back goes to the question before, "
    "help tells more, repeat asks again, rest takes all answers in brackets, stop leaves."
)
READ_BACK: Final = "Read back:"
_WHICH: Final = "Which answer is to change? Say its name, such as sett or colours."
_RESETS: Final = {
    "units": ("width", "reed_width", "finished", "loom_waste"),
    "shafts": ("threading", "heddles", "tie_up", "picks", "lifts"),
    "tie_up": ("picks",),
}
"""Answers that mean another thing once the answer before them is changed."""
_YES, _NO = Answer("yes", "write it"), Answer("no", "or name what to change")
CONFIRM: Final = choice(
    "write", "", "Is that right, and shall it be written?", always("yes"),
    _YES, _NO,
    hint=f"{_WHICH} It alone is asked again. Back takes you to the last question.",
)  # fmt: skip


@dataclass
class Interview:
    """An interview: it asks, takes one line at a time, and writes nothing; `lines` come first."""

    load: Callable[[str], str]
    """Returns the text of a WIF file that is named; raises CompanionError."""
    is_brief: bool = False
    """Whether only what a draft lacks is asked, and the answer in brackets taken elsewhere."""
    answers: dict[str, str] = field(default_factory=dict)
    """By the questions' keys, in the order they were given."""
    lines: list[str] = field(default_factory=lambda: [HOW])
    ready: Made | None = None
    """The plan that waits for the word to be written."""
    made: Made | None = None
    has_left: bool = False
    draft_text: str | None = None
    """The text of the WIF file that the threading names."""
    kept: dict[str, str] = field(default_factory=dict)
    """All that was answered so far, offered again where its question comes back."""
    _refused: dict[str, str] = field(default_factory=dict)
    """Answers that turned out wrong together, so that Enter does not give them again."""

    def offer(self, kept: Mapping[str, str]) -> None:
        """Offer answers of another time in brackets, each where its question comes."""
        if kept:
            self.kept |= kept
            self.lines.append("What you answered before is in brackets.")

    @property
    def question(self) -> Question | None:
        """The question to ask now; None when the interview is over."""
        if self.made is not None or self.has_left:
            return None
        if self.ready is not None:
            return CONFIRM
        return next((each for each in asked(self.answers) if each.key not in self.answers), None)

    @property
    def prompt(self) -> str:
        """The question with its choices and the answer that Enter takes."""
        question = self.question
        if question is None:
            return ""
        choices = ", ".join(f"{each.answer} ({each.label})" for each in question.choices)
        more = " Name all that there are." if question.takes_several else ""
        offered = f" [{self.default}]" if self.default else ""
        return f"{question.ask}{f' {choices}.' if choices else ''}{more}{offered}"

    @property
    def default(self) -> str:
        """The answer that an empty line takes; "" where it was refused already."""
        question = self.question
        if question is None:
            return ""
        offered = self.kept.get(question.key) or question.default(self.answers)
        return "" if offered == self._refused.get(question.key) else offered

    def begin_from(self, name: str, stem: str) -> None:
        """Take the threading from a WIF file, so that what it holds need not be asked.

        The stem is the plan's name where the file has no title. Raises CompanionError.
        """
        draft = self._read_draft(name)
        self.kept |= {"title": draft.title or stem, "threading": name}
        self.is_brief = True
        self.lines.append(
            f"{name} is a draft of {len(draft.shafts)} ends on {max(draft.shafts)} shafts. It does "
            "not say how close they lie, nor in which reed."
        )
        self._skip()

    def take(self, typed: str) -> None:
        """Take one line: an answer, or back, help, rest or stop, which may follow a colon."""
        self.lines = []
        match typed.strip().lower().removeprefix(":").strip():
            case "back":
                self._back()
            case "help" | "?":
                self._help()
            case "repeat":
                pass
            case "stop" | "quit" | "exit" | "q":
                self.has_left = True
            case "rest":
                while self.question is not None and self.question is not CONFIRM:
                    told = len(self.lines)
                    self._answer("")
                    if len(self.lines) > told and self.ready is None:
                        return
                self._answer("")
            case said if self._is_of_change(said) and (key := self._named(typed)):
                del self.answers[key]
                self.ready = None
            case _:
                self._answer(typed)

    def _is_of_change(self, said: str) -> bool:
        """Say whether a line may name what to change: at the end, or as in "back to passes"."""
        return self.question is CONFIRM or bool(re.match(r"(?:go\s+)?back\s+to\s|change\s", said))

    def _named(self, typed: str) -> str | None:
        """Return the answer that is to be changed, where one is named: "no, the colours"."""
        said = f" {plain_words(typed)} "
        named = {
            name: question.key
            for question in asked(self.answers)
            for name in map(plain_words, (question.key, question.name, question.name.rstrip("s")))
            if f" {name} " in said and question.key in self.answers
        }
        return named[max(named, key=len)] if named else None

    def _answer(self, typed: str) -> None:
        question = self.question
        if question is None:
            return
        given = typed.strip() or self.default
        if not given:
            self.lines.append("Give another answer, or say back.")
            return
        try:
            told = read_ahead(question, given, self.answers)
            if question is CONFIRM:
                self._confirm(told[question.key])
                return
            if question.key == "threading":
                self._take_draft(told[question.key])
        except (AnswerError, CompanionError) as error:
            self.lines.append(_WHICH if question is CONFIRM else str(error))
            self.kept.pop(question.key, None)
            return
        for key, answer in told.items():
            self._keep(key, answer)
        self._skip()

    def _skip(self) -> None:
        """Take the answer in brackets for what is not asked, and finish where all is answered."""
        while self.is_brief and self.question is not None and self.question.key not in BRIEF:
            self._keep(self.question.key, self.default)
        if self.question is None:
            self._finish()

    def _confirm(self, answer: str) -> None:
        if answer == _YES.answer:
            self.made, self.ready = self.ready, None
        else:
            self.lines.append(_WHICH)

    def _take_draft(self, answer: str) -> None:
        if not answer.lower().endswith(WIF):
            self.draft_text = None
            return
        draft, shafts = self._read_draft(answer), int(self.answers["shafts"])
        if max(draft.shafts) > shafts:
            mend = "Name another, or go back and change the number of shafts"
            raise unfit(f"a draft for {shafts} shafts", answer, mend)

    def _read_draft(self, name: str) -> Draft:
        text = self.load(name)
        draft, _ = read_wif(text, name=name, first_end="right", draft_first_end="right")
        self.kept["shafts"] = self.kept.get("shafts") or str(max(4, *draft.shafts))
        self.draft_text = text
        return draft

    def _keep(self, key: str, answer: str) -> None:
        if self.kept.get(key, answer) != answer:
            for other in _RESETS.get(key, ()):
                self.answers.pop(other, None)
                self.kept.pop(other, None)
        self.answers.pop(key, None)  # the last that was given stands last
        self.answers[key] = self.kept[key] = answer
        self._refused.clear()

    def _back(self) -> None:
        self.ready = None
        shown = [key for key in self.answers if not self.is_brief or key in BRIEF]
        if not shown:
            self.lines.append("This is the first question.")
            return
        del self.answers[shown[-1]]

    def _help(self) -> None:
        question = self.question
        if question is None:
            return
        if question.hint:
            self.lines.append(question.hint)
        if question.offers is not None:
            self.lines.append(f"There are: {', '.join(question.offers(self.answers))}.")
        self.lines.append(HOW)

    def _finish(self) -> None:
        """Compute the plan and read it back; what is wrong opens its questions again."""
        applying = {each.key for each in asked(self.answers)}
        answers = {key: self.answers[key] for key in self.answers if key in applying}
        made = make(answers, self.draft_text)
        if not made.faults:
            self.ready = made
            self.lines += [READ_BACK, *_read_back(answers)]
            return
        for key, fault in made.faults.items():
            self.lines.append(fault)
            self._refused[key] = self.answers.pop(key, "")
            self.kept.pop(key, None)  # Enter must not give what is wrong again


def _read_back(answers: dict[str, str]) -> list[str]:
    return [
        f"{capital(question.name)}: {_told(question, answers)}"
        for question in asked(answers)
        if question.key in answers
    ]


def _told(question: Question, answers: dict[str, str]) -> str:
    answer = answers[question.key]
    return question.told(question.read(answer, answers)) if question.told else answer
