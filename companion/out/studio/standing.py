"""How one loom stands, as the teacher is shown it, and what of it is worth saying aloud."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import fields
from typing import Any, Final, Literal

from companion.base.value import Value
from companion.guide.messages import Mode
from companion.guide.place import is_at_boundary
from companion.guide.state import State
from companion.job import Stage
from companion.out.handover.facts import pace_of
from companion.out.handover.pace import Moment
from companion.out.handover.words import time_left
from companion.wording import studio as wording
from companion.wording.stages import title

Condition = Literal[
    "fault",
    "held",
    "in doubt",
    "away",
    "mending",
    "resting",
    "walking",
    "finished",
    "stopped",
    "free",
]
_RANK: Final[dict[Condition, int]] = {
    "fault": 0, "held": 1, "in doubt": 2, "away": 2, "mending": 3, "resting": 5, "walking": 6,
    "finished": 7,
    "stopped": 8, "free": 9,
}  # fmt: skip
"""The page itself gives 4 to a loom that is walked and has not been heard from for long."""
TROUBLE: Final = frozenset({"fault", "held", "in doubt"})
UNDER_WAY: Final = frozenset({"held", "in doubt", "mending", "resting", "walking", "finished"})


def at_pace(stage: Stage, moments: Sequence[Moment], confirmed: int) -> dict[str, str]:
    """Return the fields that tell the pace of one stage, and the time left at that pace."""
    paced_in, speed, left = pace_of(stage, moments, confirmed)
    return {
        "pace": f"about {speed} {paced_in}s an hour" if speed else "",
        "left": f"{time_left(left)} left" if left and confirmed < len(stage.steps) else "",
    }


class Standing(Value):
    """One loom at one moment."""

    key: str
    name: str
    condition: Condition
    title: str = ""
    """Of the plan."""
    session: str = ""
    weaver: str = ""
    is_resting: bool = False
    """Whether its weaver rests, whatever else its condition is."""
    why: str = ""
    """Of a loom that is held, the count; of a fault, the line that tells it."""
    note: str = ""
    """What is wrong with the plan file of a walk that goes on all the same."""
    stage: str = ""
    place: str = ""
    group: str = ""
    done: float = 0.0
    """The part of the stage that is confirmed, from 0 to 1."""
    pace: str = ""
    """"" while it is too early to tell."""
    left: str = ""
    heard_at: float = 0.0
    """Seconds since 1970; 0 where nothing was heard yet."""
    pages: int = 0
    """Devices that look on."""
    server: str = ""
    """Of the school's, where it is another than this."""

    @property
    def rank(self) -> int:
        """The lower, the sooner somebody should look there."""
        return _RANK[self.condition]

    def as_values(self) -> dict[str, Any]:
        """Return the fields by their names, ready for JSON."""
        return {**self.__dict__, "rank": self.rank}


def elsewhere(key: str, server: str, values: dict[str, Any], *, is_there: bool) -> Standing:
    """Return how a loom of another server stands, as told, or heard from no more."""
    names = {each.name for each in fields(Standing)}
    known = {name: value for name, value in values.items() if name in names}
    known |= {"key": key, "server": server, "name": f"{values['name']} at {server}"}
    if not is_there and known.get("condition") in UNDER_WAY:
        known["condition"] = "away"
    return Standing(**known)


def condition_of(state: State, stage: Stage) -> Condition:
    """Return in what condition a walk is."""
    if state.mending is not None or state.anew:
        return "mending"
    if state.base is Mode.HELD:
        return "held"
    if state.base is Mode.COUNTING and not is_at_boundary(state, stage):
        return "in doubt"
    if state.is_paused:
        return "resting"
    return "finished" if state.base is Mode.FINISHED else "walking"


def walked(state: State, stage: Stage) -> dict[str, Any]:
    """Return the fields of a standing that a walk's state tells."""
    return {
        "condition": condition_of(state, stage),
        "is_resting": state.is_paused,
        "why": wording.why_held(state, stage),
        "stage": title(stage),
        "place": wording.place(state, stage),
        "group": wording.group_of(state, stage),
        "done": state.confirmed / max(1, len(stage.steps)),
    }


def news(before: Standing, after: Standing) -> str:
    """Return what is said where a loom comes into trouble, out of it, or to the end of a stage."""
    was, now = before.condition, after.condition
    is_other_count = now == "held" and before.why != after.why
    if now == was and not is_other_count:
        return ""
    if now in TROUBLE:
        return _trouble(after)
    if now == "finished":
        return wording.finished(after.name, after.stage)
    return wording.goes_on(after.name) if was in TROUBLE and now == "walking" else ""


def roll_call(standings: Sequence[Standing]) -> str:
    """Return what is said of all looms, trouble first."""
    ordered = sorted(standings, key=lambda each: each.rank)
    troubles = [_trouble(each) for each in ordered if each.condition in TROUBLE]
    how = Counter(each.condition for each in standings)
    going = how["walking"] + how["mending"]
    return wording.roll_call(troubles, going, how["resting"], how["finished"])


def _trouble(standing: Standing) -> str:
    match standing.condition:
        case "held":
            return wording.held(standing.name, standing.why)
        case "in doubt":
            return wording.in_doubt(standing.name)
        case _:
            why, *_ = standing.why.split("\n")  # its particulars stand on the page
            return wording.fault(standing.name, why)
