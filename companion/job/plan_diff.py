"""How far a stage stays the same for the hands when its plan becomes another."""

from collections.abc import Callable, Iterator, Mapping
from itertools import takewhile
from typing import Any, Final

from companion.job.steps import Stage, StageName, Step
from companion.loom.dressing import Dressing, GroupName


def steps_alike(old: Stage, new: Stage) -> int:
    """Return how many steps, from the first on, are done alike by both plans.

    What a unit, a group or a colour is called does not matter, but from which edge, in which dent
    and on what the work begins does: where that differs nothing is alike.
    """
    if grounds_of(old) != grounds_of(new):
        return 0
    return sum(takewhile(bool, (was == now for was, now in _pairs(old, new))))


def other_shafts(old: Stage, new: Stage, upto: int) -> tuple[Step, ...] | None:
    """Return the steps up to one with other shafts by the new plan; None if more is different."""
    pairs = list(_pairs(old, new, upto))
    if any(was._replace(shafts=now.shafts) != now for was, now in pairs):
        return None
    is_fit = grounds_of(old) == grounds_of(new) and len(pairs) == upto
    both = zip(old.steps, new.steps[:upto], strict=False)
    return tuple(now for was, now in both if was.shafts != now.shafts) if is_fit else None


def threaded_alike(old: Stage, new: Stage, upto: int) -> int:
    """Return up to which step, at most, all ends hang in the same heddles, whatever the reed."""
    grounds = _GROUNDS["thread"]
    if grounds(old.dressing) != grounds(new.dressing):
        return 0
    pairs = _pairs(old, new, upto)
    return sum(takewhile(bool, (_bare(was) == _bare(now) for was, now in pairs)))


def _bare(step: Step) -> Step:
    return step._replace(dents=(), empty_dents=0)


def is_same_work(old: Stage, new: Stage) -> bool:
    """Return whether nothing at all in the stage is done or counted otherwise."""
    bare = GroupName()
    groups = [tuple(group._replace(name=bare) for group in each.groups) for each in (old, new)]
    is_as_long = steps_alike(old, new) == len(old.steps) == len(new.steps)
    return is_as_long and groups[0] == groups[1] and old.left_over == new.left_over


def grounds_of(stage: Stage) -> tuple[Any, ...]:
    """Return what the whole of a stage rests on, beside its steps."""
    grounds = _GROUNDS.get(stage.name)
    return grounds(stage.dressing) if grounds else ()


def is_other_reed(old: Stage, new: Stage) -> bool:
    """Return whether a stage with the reed in it has another one."""
    has_reed = any(step.dents for step in new.steps)
    return has_reed and old.dressing.dents_per_inch != new.dressing.dents_per_inch


def _pairs(old: Stage, new: Stage, upto: int | None = None) -> Iterator[tuple[Step, Step]]:
    """Yield the steps of both plans, up to one, as they are for the hands."""
    names = _renamed(old.dressing, new.dressing)
    for before, after in zip(old.steps[:upto], new.steps[:upto], strict=False):
        yield _for_the_hands(before, old, names), _for_the_hands(after, new, {})


def _for_the_hands(step: Step, walked: Stage, names: Mapping[str, str]) -> Step:
    return step._replace(
        number=0,
        group=0,
        unit=-1,
        # In the reed an end's shaft is only told along.
        shafts=() if walked.name == "sley" else step.shafts,
        colour=names.get(step.colour, step.colour),
        is_new_colour=False,
        notes=(),
    )


def _renamed(old: Dressing, new: Dressing) -> dict[str, str]:
    """Return the colours that only got another name: the same ends, by a name that is new."""
    pairs = {(a.colour, b.colour) for a, b in zip(old.ends, new.ends, strict=False)}
    was, now = {end.colour for end in old.ends}, {end.colour for end in new.ends}
    found = {before: after for before, after in pairs if before not in now and after not in was}
    told = [pair for pair in pairs if pair[0] in found or pair[1] in found.values()]
    return found if len(told) == len(found) else {}


_GROUNDS: Final[Mapping[StageName, Callable[[Dressing], tuple[Any, ...]]]] = {
    "wind": lambda it: (it.first_end, it.yarns.wind if it.yarns else None),
    "raddle": lambda it: (it.first_end, it.raddle.empty_before if it.raddle else None),
    "heddles": lambda it: (it.shaft_one,),
    "thread": lambda it: (it.first_end, it.shaft_one, it.thread_from, bool(it.thread_first)),
    "thread-and-sley": lambda it: (it.first_end, it.shaft_one, it.thread_from, *_reed(it)),
    "sley": lambda it: (it.first_end, *_reed(it)),
    "tie-up": lambda it: (it.shaft_one, it.loom_kind),
}


def _reed(dressing: Dressing) -> tuple[Any, ...]:
    return dressing.dents_per_inch, dressing.sley.first_dent
