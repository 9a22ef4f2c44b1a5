"""What the guide has to say, as data that `companion.wording` turns into sentences."""

from enum import StrEnum
from typing import Final, Literal

from companion.base.value import Value
from companion.command import Kind
from companion.command.size import Detail
from companion.diagnosis.slips import Diagnosis
from companion.guide.events import MendAccount, Overridden
from companion.guide.terms import Cause, Message, Way, WhyNot
from companion.job import Danger, Noun, Stage, Step, StepGroup


class Mode(StrEnum):
    """What the guide is waiting for."""

    WALKING = "walking"
    """The present step."""
    COUNTING = "counting"
    """A count: of the group at its boundary, or of the group so far after a reported mistake."""
    LEFT_OVER = "left over"
    """How many heddles, or dents, are left over now that every group is closed."""
    HELD = "held"
    """What to do about a count that was not right."""
    FINISHED = "finished"
    """Nothing: the stage is complete."""
    LOOKING = "looking"
    """What the weaver feels or counts in a group that is not the present one."""
    READING = "reading"
    """That the weaver has compared the end just read out."""
    MENDING = "mending"
    """That the weaver has done one small step of a mend."""
    PAUSED = "paused"
    CONFIRMING = "confirming"
    """Yes or no."""
    CHOOSING = "choosing"
    """Whether it is what is said: a count to affirm, or one of the choices being read. A walk waits
    for it; no state does."""


COUNTED: Final = frozenset({Mode.COUNTING, Mode.LEFT_OVER, Mode.HELD})
"""Where a count is waited for."""
Telling = Literal["short", "place", "causes", "again"]
"""How much is told of a wrong count: the likeliest cause and what to do first; without the cause,
where the place is asked; all the causes and commands; or, just after them, what to do alone."""
Opening = Literal["first", "brief", "whole"]
"""How much is told when a stage begins: to somebody new, to somebody who knows it, or all."""


class OfStage(Message):
    """Something to say of a stage."""

    stage: Stage


class OfGroup(OfStage):
    """Something to say of one group of a stage."""

    group: StepGroup


class Differs(OfGroup):
    """A count differs from the plan; as such it may stand, in a stage where that is no harm."""

    count: int
    expected: int
    is_so_far: bool
    """Whether the group is not complete yet."""
    causes: tuple[Cause, ...] = ()
    """The likeliest first."""


class Welcome(OfStage):
    """The stage begins."""

    opening: Opening = "first"


class Cautions(Message):
    """The usual cautions, whatever the stage."""

    is_short: bool = False
    """Whether one sentence reminds of them."""
    is_weaving: bool = False
    """Whether those of weaving follow, which tell how to sit and to rest."""


class StageCaution(Message):
    """What may hurt in the stage that begins."""

    danger: Danger
    is_short: bool = False
    """Whether one sentence reminds of what was told whole in another session."""


class HelpHint(Message):
    """How to ask for help."""


class GroupStart(OfGroup):
    """A group begins."""


class Named(Value):
    """A unit, a colour or a beam that begins within a callout, and is named there."""

    at: int
    """Index of the step it begins with."""
    unit: str = ""
    unit_number: int = 0
    """Which one of its name in a row, from 1."""
    is_new_unit_name: bool = False
    """Whether the unit before had another name."""
    colour: str = ""
    beam: int = 0
    """The warp beam that the ends from here on come from; 0 where it is not named."""
    other_colour: str = ""
    """What takes turns with the colour, end by end; "" where nothing does."""
    other_beam: int = 0
    """What takes turns with the beam."""


class StepCall(OfStage):
    """The steps in hand: one, or as many as the weaver wants told together."""

    steps: tuple[Step, ...]
    detail: Detail = "all"
    named: tuple[Named, ...] = ()
    """In order."""
    is_from_cross: bool = False
    """Whether to remind that the ends are taken from the cross."""
    dent_before: int = 0
    """The dent told just before, whose hundreds the ear still knows; 0 to tell dents in full."""
    is_read_back: bool = False
    is_threaded: bool = False
    """Whether their ends hang in the heddles already and are only sleyed."""

    @property
    def step(self) -> Step:
        """The first of them."""
        return self.steps[0]


class CountQuestion(OfGroup):
    """How many are in this group?"""

    is_so_far: bool = False
    """Whether the group is not complete yet."""
    is_full: bool = False
    """Whether it is asked for anew, with all there is to know of it."""
    is_threaded: bool = False
    """Whether its ends hung in the heddles before, and are only sleyed."""


class GroupEnd(OfGroup):
    """A group is complete and is not counted, by the weaver's own setting or by its nature."""


class KnotReminder(Message):
    """The group that is threaded is to be tied in a slip knot."""

    group: int


class Hold(Differs):
    """A count differs and holds the walk."""

    telling: Telling = "short"
    is_explained: bool = True
    """Whether it is told what it most likely means; else it is to be taken once more first."""
    diagnoses: tuple[Diagnosis, ...] = ()
    """The likeliest slips at the loom, where those are known for the stage."""
    is_felt: bool = False
    """Whether they rest on what was felt or on heddles left over, and not on the number alone."""


class ReadingStart(Message):
    """A read-back begins."""

    item: Noun
    first: int
    """The number of the item it begins with; 0 for a floating selvedge."""
    group: StepGroup | None = None
    """None where it was asked for from an end."""
    is_ahead: bool = False
    """Whether none of it is confirmed yet."""


class LookQuestion(OfGroup):
    """What is there in this group, which is not the present one?

    The stage is that of the group: the threading, where the walk is past it.
    """

    steps: tuple[Step, ...]
    """What is confirmed of the group."""


class WhichGroup(Message):
    """Which group does the weaver want to look at?"""


class ReadingEnd(Message):
    """A read-back is over; what was going on before follows."""


class RewindQuestion(OfStage):
    """Shall the walk go back that far?"""

    step: Step
    steps: int
    """How many confirmed steps that takes away."""
    groups: int
    """How many checked groups that opens."""
    uncounted: int = 0
    """How many of those were passed, or taken over, without a count."""


class AcceptQuestion(OfGroup):
    """Shall a count that differs from the plan stand?"""

    count: int
    expected: int


class LeaveQuestion(Message):
    """Does the weaver mean to leave?"""


class Dropped(Message):
    """A question was not answered yes, so nothing changed."""


class Where(OfGroup):
    """Where the walk is."""

    mode: Mode
    step: Step | None
    """The step to come; None where all are confirmed."""
    confirmed: int
    """Steps; with none, where the stage begins is told."""
    is_threaded: bool = False
    """Whether the ends of the group hang in the heddles already, and are only sleyed."""


class Help(Message):
    """The commands that fit now."""

    mode: Mode
    kinds: tuple[Kind, ...]
    item: Noun = "end"
    """What the weaver can go to, by its number."""


class NewRate(Message):
    """The voice speaks at another rate from here on."""

    direction: Literal[-1, 1]


class NewPace(Message):
    """The walk goes on by itself from here on, or waits for the weaver again."""

    seconds: int
    """How long each callout is left standing; 0 waits for the weaver."""


class AffirmQuestion(OfGroup):
    """Does the group hold what is planned, without a number being given?"""

    expected: int


class CatchUpQuestion(OfGroup):
    """Are more steps of the group done than were confirmed, as a count would have it?"""

    step: Step
    """The last of them."""
    count: int
    expected: int
    steps: int


class ChoiceCall(Message):
    """One of the choices read aloud."""

    kind: Kind
    """The command that can be taken now."""
    is_row: bool = False
    """Whether it would take the shafts that are felt."""
    is_first: bool = False


class NumberCall(Message):
    """One number counted up for a choice."""

    number: int | None
    """None stands for "that is all" of a row of shafts."""


class OfferCall(Message):
    """Is it this number? A likely one, offered to be taken or passed over."""

    number: int
    is_shaft: bool
    """Whether it is the shaft of what is felt next; else it is a count."""
    is_first: bool
    first_end: int = 0
    """Of shafts, the end they are felt from."""


class ChoicesClosed(Message):
    """The choices were read often enough; nothing was chosen."""


class Refused(Message):
    """A command does not fit; nothing changed."""

    why: WhyNot
    number: int = 0
    """What was asked for."""
    limit: int = 0
    """The last that could be asked for."""
    item: Noun = "end"
    """What the number is of."""


class Unknown(Message):
    """What was heard is not a command."""

    heard: str
    """"" for nothing."""
    closest: tuple[str, ...]
    """The commands that may be meant, of those that can be said now."""
    kinds: tuple[Kind, ...] = ()
    """The likeliest to say now."""
    example: str = ""
    """A command in full, where what was heard is one without its number."""


class WelcomeBack(OfGroup):
    """A session goes on: where it was left, and how to find that by touch."""

    confirmed: int
    """Steps."""
    in_group: int
    """How many ends or dents the present group should hold so far."""
    is_whole: bool = False
    """Whether all is told that somebody needs who did not begin the work."""
    read_since: tuple[int, int] | None = None
    """The first and the last end that were read on after it and confirmed by nobody."""
    is_counting: bool = False
    """Whether the group is to be counted, as the next words ask."""
    hanging: tuple[int, int] | None = None
    """The first and the last end that hang in their heddles and are still to be sleyed anew."""


class Goodbye(Message):
    """The weaver leaves; the place is kept."""

    confirmed: int
    steps: int
    is_finished: bool = False


class Finished(OfStage):
    """The stage is complete."""

    overrides: tuple[Overridden, ...] = ()
    mended: tuple[MendAccount, ...] = ()
    uncounted: int = 0
    """How many groups were passed on the weaver's word, without a count."""


class PlanQuestion(OfStage):
    """The plan is another, and some of what is done must be undone for it: shall it be walked?"""

    first: int
    """The first that must be undone, by the number the weaver knows."""
    last: int
    why: str = ""
    """What else there is to say of the new plan: one of the words of `guide.terms`, or ""."""
    ends: tuple[int, ...] = ()
    """Those that are on other shafts in it, where they can be mended as they are; or the last that
    stays in its heddle."""


class EdgeQuestion(OfStage):
    """The work was begun at the wrong edge: shall it go on in this way?"""

    way: Way
    last: int
    """The last that is done, by the number the weaver knows."""
