"""Asking the questions one at a time: where the interview is, and what an answer does to it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Literal

from companion.maker.plan_writer import Made, make
from companion.maker.question import AnswerError
from companion.maker.questions import QUESTIONS, read_answer

if TYPE_CHECKING:
    from companion.maker.question import Question

Kind = Literal["ask", "made", "left"]

HOW: Final = (
    "Press Enter to take the answer in brackets. Say back for the question before, help for more "
    "about it, rest to take the answer in brackets for all that is left, stop to leave."
)
_RESETS: Final = {
    "units": ("width", "reed_width", "finished", "loom_waste"),
    "shafts": ("threading", "heddles", "tie_up", "picks"),
    "tie_up": ("picks",),
}
"""Answers that mean another thing once the answer before them is changed."""


@dataclass
class Interview:
    """An interview under way; it asks, and takes one line at a time.

    Nothing is read or written: `lines` is what to tell the weaver before the next question.
    """

    answers: dict[str, str] = field(default_factory=dict)
    lines: list[str] = field(default_factory=lambda: [HOW])
    made: Made | None = None
    has_left: bool = False
    _kept: dict[str, str] = field(default_factory=dict)
    """Earlier answers, offered again where their question comes back."""
    _path: list[str] = field(default_factory=list)
    """The keys answered, in order."""

    @property
    def question(self) -> Question | None:
        """The question to ask now; None when the interview is over."""
        if self.made is not None or self.has_left:
            return None
        return next(
            (
                each
                for each in QUESTIONS
                if each.key not in self.answers and each.applies(self.answers)
            ),
            None,
        )

    @property
    def prompt(self) -> str:
        """The question with its choices and the answer that Enter takes."""
        question = self.question
        if question is None:
            return ""
        choices = ", ".join(f"{each.answer} ({each.label})" for each in question.choices)
        listed = f" {choices}." if choices else ""
        return f"{question.ask}{listed} [{self.default}]"

    @property
    def default(self) -> str:
        """The answer that an empty line takes."""
        question = self.question
        if question is None:
            return ""
        return self._kept.get(question.key) or question.default(self.answers)

    def take(self, typed: str) -> None:
        """Take one line: an answer, or back, help, rest or stop."""
        self.lines = []
        match typed.strip().lower():
            case "back":
                self._back()
            case "help":
                self._help()
            case "stop":
                self.has_left = True
            case "rest":
                while self.question is not None and not self.lines:
                    self._answer("")
            case _:
                self._answer(typed)

    def _answer(self, typed: str) -> None:
        question = self.question
        if question is None:
            return
        try:
            answer = read_answer(question, typed.strip() or self.default, self.answers)
        except AnswerError as error:
            self.lines.append(str(error))
            self._kept.pop(question.key, None)
            return
        self._keep(question.key, answer)
        if self.question is None:
            self._finish()

    def _keep(self, key: str, answer: str) -> None:
        if self._kept.get(key, answer) != answer:
            for other in _RESETS.get(key, ()):
                self.answers.pop(other, None)
                self._kept.pop(other, None)
        self.answers[key] = answer
        self._kept[key] = answer
        if key in self._path:
            self._path.remove(key)
        self._path.append(key)

    def _back(self) -> None:
        if not self._path:
            self.lines.append("This is the first question.")
            return
        self.answers.pop(self._path.pop(), None)

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
        """Compute the plan; what is wrong opens its questions again, each with what to do."""
        applying = {each.key for each in QUESTIONS if each.applies(self.answers)}
        made = make({key: self.answers[key] for key in self.answers if key in applying})
        if not made.faults:
            self.made = made
            return
        for key, fault in made.faults.items():
            self.lines.append(fault)
            self.answers.pop(key, None)
            if key in self._path:
                self._path.remove(key)
