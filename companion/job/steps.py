"""What every stage is made of: steps, groups of steps, and the stage itself."""

from dataclasses import field
from enum import StrEnum
from typing import Final, Literal, NamedTuple

from companion.base.value import Value
from companion.job.contents import ClothMark, Content, Note, RulerMark, Unwoven
from companion.loom.dressing import Dressing, GroupName, Region

StageName = Literal[
    "wind",
    "wind-second",
    "wind-sections",
    "raddle",
    "beam",
    "raddle-second",
    "beam-second",
    "move-heddles",
    "heddles",
    "knot",
    "thread-and-sley",
    "thread",
    "sley",
    "tie-on-rear",
    "tie-on",
    "tie-up",
    "peg",
    "first-picks",
    "weave",
]
PASSES: Final[frozenset[StageName]] = frozenset({"thread", "sley", "thread-and-sley"})
"""Over the warp: any of them can be walked, whatever the plan says of its passes."""
_SAME_WORK: Final[dict[StageName, StageName]] = {
    "wind-second": "wind",
    "raddle-second": "raddle",
    "beam-second": "beam",
    "tie-on-rear": "tie-on",
}
Noun = Literal[
    "end",
    "dent",
    "section",
    "turn",
    "heddle",
    "bout",
    "tie",
    "pick",
    "shaft",
    "treadle",
    "step",
    "peg",
    "bar",
    "knot",
]
"""What is counted, or called by number, in the singular."""


class Danger(StrEnum):
    """What may hurt in a stage, beside what may hurt in all of them."""

    HOOKS = "hooks"
    """Hooks and scissors in the hand."""
    WARP_LOOPS = "warp-loops"
    LOADED_BEAM = "loaded-beam"
    SECTIONS = "sections"
    """Yarn runs from many packages straight onto the beam."""
    UNDER_SHAFTS = "under-shafts"
    TREADLES = "treadles"
    WEAVING = "weaving"
    """The same movement over and over."""
    LIFTING = "lifting"
    """Shafts, beams and the loom itself are heavy."""
    PULLING_WARP = "pulling-warp"
    """The warp is under tension while it is tied on."""


class Step(NamedTuple):
    """One thing the weaver does between two confirmations."""

    number: int = 0
    """1-based in its stage; 0 until it is numbered."""
    first_end: int = 0
    """The first end it handles; 0 where it handles none, such as a floating selvedge."""
    last_end: int = 0
    """The last end it handles, inclusive; 0 where it handles none."""
    shafts: tuple[int, ...] = ()
    """The shaft of each end that is threaded or sleyed; empty for a floating selvedge."""
    dents: tuple[int, ...] = ()
    """The dent of each end; empty in a stage without the reed."""
    empty_dents: int = 0
    """Dents to leave empty just before this step."""
    colour: str = ""
    """Of its ends; "" where none is named or for a floating selvedge. A dent with ends of several
    colours names them in order, "black and white"."""
    is_new_colour: bool = False
    """Whether a colour is named that differs from the step before."""
    group: int = 0
    """1-based; 0 until it is numbered."""
    unit: int = -1
    """Index in the draft's units of the first end's unit; -1 where it belongs to none."""
    is_floating: bool = False
    is_doubled: bool = False
    """Whether it holds two ends, and they share one heddle."""
    amount: int = 1
    """What it adds to the count of its group; 0 where there is nothing to count."""
    beam: int = 0
    """The warp beam its ends come from, where there are two."""
    content: Content | None = None
    """What is done, where ends, shafts and dents do not say it."""
    is_back: bool = False
    """Whether the weaver goes back before it: to the centre, or to the edge for other colours."""
    heddles_left: int = 0
    """Heddles to leave free on its shaft before it, for ends threaded later."""
    notes: tuple[Note | RulerMark | Region | ClothMark | Unwoven, ...] = ()
    """Milestones that it reaches, reminders that go with it, and the region that comes after it."""

    @property
    def ends(self) -> int:
        """How many ends it handles."""
        return self.last_end - self.first_end + 1 if self.first_end else 0


class StepGroup(NamedTuple):
    """Steps checked together at a boundary."""

    number: int
    name: GroupName
    """As the plan calls it; empty where the plan has no name for it."""
    first_step: int
    last_step: int
    expected: int
    """What the weaver should count at the boundary; 0 where there is nothing to count. Ends are
    those in heddles, so a floating selvedge is a step of the group but not one of its ends; dents
    are those that hold an end, a floating selvedge's too."""


class LeftOver(NamedTuple):
    """Something that is left over when a stage is complete, and can be checked by number."""

    what: Literal["heddle", "dent"]
    shaft: int
    """0 for dents."""
    planned: int


class Stage(Value):
    """One pass of the job, complete when it is made."""

    name: StageName
    counted: Noun
    """What the boundary check counts."""
    steps: tuple[Step, ...]
    groups: tuple[StepGroup, ...]
    dressing: Dressing = field(repr=False)
    """What it was made from."""
    unit_names: tuple[str, ...] = ()
    """Spoken label of each of the draft's units, "" where it has none."""
    left_over: tuple[LeftOver, ...] = ()
    """What is left over when it is complete, in the order it is asked."""
    item: Noun = "end"
    """What the weaver's numbers mean when she goes to one or has it read: ends, or else steps,
    called by this noun."""
    danger: Danger | None = None
    tells_stripes: bool = False
    """Whether each group begins with the order of its colours at the cross."""
    only_warns: bool = False
    """Whether a wrong count is told and recorded but does not hold the walk."""

    def find(self, number: int) -> Step | None:
        """Return the step that the weaver means by a number; end 0 is a floating selvedge."""
        if self.item == "end":
            return next((step for step in self.steps if _holds(step, number)), None)
        return self.steps[number - 1] if 1 <= number <= len(self.steps) else None

    def number_of(self, step: Step) -> int:
        """Return the number by which the weaver calls a step."""
        return step.first_end if self.item == "end" else step.number

    def steps_of(self, group: StepGroup) -> tuple[Step, ...]:
        """Return the steps of a group."""
        return self.steps[group.first_step - 1 : group.last_step]

    @property
    def work(self) -> StageName:
        """What is done in it: the same for a second warp, and for both ends of the warp."""
        return _SAME_WORK.get(self.name, self.name)

    @property
    def last_number(self) -> int:
        """The highest number that `find` knows."""
        if self.item == "end":
            return max(step.last_end for step in self.steps)
        return len(self.steps)

    @property
    def is_from_cross(self) -> bool:
        """Whether its ends are taken from the cross, one after the other."""
        is_threading = self.counted == "end" and self.has_shafts
        is_next = not self.dressing.thread_first  # else others lie between
        return is_threading and is_next and self.dressing.method == "back-to-front"

    @property
    def is_from_edge(self) -> bool:
        """Whether it goes over the warp from one edge to the other."""
        is_central = self.dressing.back_at and not self.dressing.thread_first
        return self.name in PASSES and not is_central

    @property
    def is_by_foot(self) -> bool:
        """Whether the weaver's feet are at work, so that no other pedal is to be pressed."""
        return self.name == "weave" and self.dressing.loom_kind != "table"

    @property
    def has_shafts(self) -> bool:
        """Whether the weaver can name shafts by touch in this stage."""
        return any(step.shafts for step in self.steps)


def _holds(step: Step, end: int) -> bool:
    return step.first_end <= end <= step.last_end and (end > 0 or step.is_floating)
