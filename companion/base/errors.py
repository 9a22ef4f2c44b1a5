"""The errors a weaver may meet: each says what was expected, what came, and what to do."""

from typing import NamedTuple

from companion.base.text import counted, sentence

WHOLE_FILE = "the whole file"
"""The place of what is wrong with a file as such: it is not there, or cannot be read."""


class Problem(NamedTuple):
    """One thing wrong in a plan: where it stands, what is wrong and how to mend it."""

    place: str
    """Where in the file, for example "line 12, warp.ends" (never empty)."""
    fault: str
    """What was expected and what came, as one sentence without a full stop."""
    mend: str
    """What to do about it, as one sentence without a full stop."""
    line: int = 0
    """The 1-based line of the plan or of its draft; 0 for the whole file."""
    path: tuple[str | int, ...] = ()
    """Keys and 0-based list positions in the plan; () where it stands in no one key."""

    def __str__(self) -> str:
        return f"{self.place}: {self.fault}. {self.mend}."


class CompanionError(Exception):
    """Anything the weaver can act on; its text is one plain line."""

    exit_code = 2


class PlanError(CompanionError):
    """A plan or draft that cannot be dressed, with all problems in it, in the order of the file."""

    def __init__(self, source: str, problems: tuple[Problem, ...]) -> None:
        self.source = source
        self.problems = problems
        self.head = f"{source}: {counted(len(problems), 'problem')} found."
        text = "\n".join([self.head, *(f"  {problem}" for problem in problems)])
        if [problem.place for problem in problems] == [WHOLE_FILE]:
            text = str(problems[0]._replace(place=source))
        super().__init__(text)


class UnfitTextError(ValueError):
    """A text that does not fit; fault (expected and came) and mend without a full stop."""

    def __init__(self, fault: str, mend: str) -> None:
        self.fault = fault
        self.mend = mend
        super().__init__(f"{sentence(fault)} {sentence(mend)}")


class CommandError(CompanionError):
    """Words or keys that are not a command here."""


class JournalError(CompanionError):
    """The record of a session cannot be read, written or locked."""

    def __init__(self, text: str, file: str = "") -> None:
        self.aloud = text
        """Without the file's name, which a voice takes long over."""
        super().__init__(f"{file}: {text}" if file else text)


class SpeechError(CompanionError):
    """Text could not be made into sound."""


class AudioError(CompanionError):
    """No speaker or microphone, or it went away."""


class PedalError(CompanionError):
    """A foot pedal could not be read or learnt."""


class ModelError(CompanionError):
    """A recogniser's model is missing, damaged or unsuited."""


class NoEarError(ModelError):
    """No recogniser is set up at all."""


class SettingsError(CompanionError):
    """The settings file cannot be used."""
