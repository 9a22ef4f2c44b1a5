"""How far a stage stays the same for the hands when its plan becomes another."""

from collections.abc import Callable, Mapping
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
    names = _renamed(old.dressing, new.dressing)
    alike = 0
    for before, after in zip(old.steps, new.steps, strict=False):
        if _for_the_hands(before, old, names) != _for_the_hands(after, new, {}):
            break
        alike += 1
    return alike


def other_shafts(old: Stage, new: Stage, upto: int) -> tuple[Step, ...] | None:
    """Return the steps up to one with other shafts by the new plan; None if more is different."""
    names = _renamed(old.dressing, new.dressing)
    pairs = [*zip(old.steps[:upto], new.steps[:upto], strict=False)]
    for before, after in pairs:
        was = _for_the_hands(before, old, names)
        if was._replace(shafts=after.shafts) != _for_the_hands(after, new, {}):
            return None
    is_fit = grounds_of(old) == grounds_of(new) and len(pairs) == upto
    found = tuple(after for before, after in pairs if before.shafts != after.shafts)
    return found if is_fit else None


def is_same_threading(old: Stage, new: Stage, upto: int) -> bool:
    """Return whether up to a step all ends lie in the same heddles, whatever the reed may be."""
    names = _renamed(old.dressing, new.dressing)
    was = [_for_the_hands(step, old, names) for step in old.steps[:upto]]
    now = [_for_the_hands(step, new, {}) for step in new.steps[:upto]]
    bare = [[step._replace(dents=(), empty_dents=0) for step in each] for each in (was, now)]
    grounds = _GROUNDS["thread"]
    return bare[0] == bare[1] and grounds(old.dressing) == grounds(new.dressing)


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
