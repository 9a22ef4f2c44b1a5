"""The wording of how well a weaver is heard: the asking, the figures, and what to change."""

from typing import Any, Final

from companion.base.text import counted

NOT_TAKEN: Final = "Not taken."
UNREADABLE: Final = "The last score cannot be read; make a new one: companion listen --score"
NOTHING_TAUGHT: Final = "Lesson: as it was; none of these words is one you taught."


def begin(count: int, talk_seconds: float) -> str:
    """Return what is asked for, and about how long it takes."""
    minutes = max(1, round((5 * count + talk_seconds) / 60))
    talk = f", then {talk_seconds:.0f} seconds of talk" if talk_seconds else ""
    return (
        f"Say each command after it is asked for: {counted(count, 'time')}{talk}, about "
        f"{counted(minutes, 'minute')} in all. Control C ends it sooner."
    )


ask = 'Say: "{}".'.format
talk = (
    "Now talk about anything else for {:.0f} seconds, as you would with friends, and say no "
    "command."
).format


def heard(words: str) -> str:
    """Return what a sound was taken for; "" for nothing."""
    return f"Heard: {words}." if words else NOT_TAKEN


def in_short(score: dict[str, Any]) -> str:
    """Return a score as one sentence or two."""
    talk = ""
    if score["talk_seconds"]:
        talk = f" In {score['talk_seconds']} seconds of talk: {score['false']} false."
    seconds = score["median_milliseconds"] / 1000
    return (
        f"heard {score['heard']} of {score['asked']}, missed {score['missed']}, "
        f"wrong {score['wrong']}; {seconds:.1f} seconds from word to command.{talk}"
    )


def told(score: dict[str, Any]) -> list[str]:
    """Return a score as lines, with what was taken from talk."""
    taken = score["taken_from_talk"].items()
    return [f"Score: {in_short(score)}", *(f"Taken from talk: {form}, {n}." for form, n in taken)]


def kept_in_short(score: dict[str, Any]) -> str:
    """Return a score that was kept as one sentence; one of another form asks for a new one."""
    try:
        return f"Scored {score['made'][:10]} ({score['recogniser']}): {in_short(score)}"
    except (KeyError, TypeError):
        return UNREADABLE


def to_change(form: str, right: int, count: int, other: str) -> str:
    """Return that a form is seldom heard, and what to do; `other` says the same, "" for none."""
    instead = f' Say "{other}" instead, or teach' if other else " Teach"
    rare = f'"{form}" was heard {right} of {count} times.'
    return f'Change: {rare}{instead} it: companion teach "{form}"'


kept = "Kept: {}. It holds figures alone; send it to whom you like.".format
sounds_kept = "Kept: what you said, in {}, because you asked for it.".format


lesson_better = "Lesson: better by the newest recordings of {}.".format
lesson_kept = (
    "Lesson: as it was. With these recordings it would know {0} of {2} sounds, and {1} without."
).format
