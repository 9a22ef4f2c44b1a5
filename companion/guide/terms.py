"""The terms messages are made of: causes of a difference, refusals, and the tasks of a mend."""

from enum import StrEnum
from typing import Annotated, NamedTuple

from pydantic import Field

from companion.base.value import Value

Whole = Annotated[int, Field(ge=0, le=10_000_000)]


class Message(Value):
    """Something to say."""


class CauseKind(StrEnum):
    """A way in which a count comes to differ from the plan."""

    STEP_LEFT_OUT = "step left out"
    STEP_TWICE = "step twice"
    CONFIRMED_TWICE = "confirmed twice"
    NOT_CONFIRMED = "not confirmed"
    DENT_SKIPPED = "dent skipped"
    DOUBLED_AS_ONE = "doubled as one"
    """Two ends in one heddle were counted as one."""
    FLOATING_COUNTED = "floating counted"
    """Floating selvedges were counted among the ends in heddles."""
    EMPTY_COUNTED = "empty counted"
    """Dents left empty on purpose were counted."""
    ENDS_FOR_DENTS = "ends for dents"
    """Ends were counted instead of dents."""
    OWN_TOO_FEW = "own too few"
    """The slip of the stage at hand that makes a count too low."""
    OWN_TOO_MANY = "own too many"
    """The one that makes it too high."""


class WhyNot(StrEnum):
    """Why a command changes nothing here."""

    COUNT_WANTED = "count wanted"
    HELD = "held"
    PAUSED = "paused"
    NOT_PAUSED = "not paused"
    READING = "reading"
    FINISHED = "finished"
    NOTHING_ASKED = "nothing asked"
    NOTHING_CONFIRMED = "nothing confirmed"
    NOTHING_IN_GROUP = "nothing in group"
    NOTHING_TO_UNDO = "nothing to undo"
    NOTHING_HELD = "nothing held"
    COUNT_ALL = "count all"
    """What is felt wrong can be let stand once its group is counted at its end."""
    NO_SUCH_GROUP = "no such group"
    NO_SUCH_END = "no such end"
    NOT_YET = "not yet"
    ONE_NUMBER = "one number"
    NO_SHAFTS = "no shafts"
    NO_HEDDLES = "no heddles"
    NO_SUCH_SHAFT = "no such shaft"
    NOTHING_KNOWN = "nothing known"
    """Nothing is known to be wrong."""
    PLACE_UNKNOWN = "place unknown"
    """Something is wrong, but not where."""
    UNEXPLAINED = "unexplained"
    """What was felt is not as planned, and no slip or two explain it."""
    UNREADABLE = "unreadable"
    """The same in a stage that is past, of which nothing can be read back."""
    FEEL_FIRST = "feel first"
    """The same where it can be felt at once: in a group looked at, or where a count is wrong."""
    NOT_FROM_HERE = "not from here"
    """It is known where, but only threading anew mends it, and that stage is past."""
    MENDING = "mending"
    NOTHING_TO_COUNT = "nothing to count"
    TOO_MANY_AT_A_TIME = "too many at a time"
    GROUP_NOT_BEGUN = "group not begun"
    NO_EDGE = "no edge"
    """What is done in this stage does not hang on the edge it was begun at."""
    NOTHING_THREADED = "nothing threaded"
    PACE_TOO_SLOW = "pace too slow"
    TOO_SOON = "too soon"
    """A count was affirmed before it can have been looked at."""
    ON_TREADLES = "on treadles"
    """A foot pedal was pressed while the feet are on the treadles."""
    JUST_BEGUN = "just begun"
    """A press came right after the opening, and was meant for what came before it."""


class Cause(Value):
    """One likely cause of a difference."""

    kind: CauseKind
    times: int = 1
    """How often it must have happened to make the whole difference."""
    size: int = 0
    """Ends in the step."""
    givers: tuple[tuple[int, int], ...] = ()
    """Where heddles are lacking: (shaft, heddles to spare), the richest first."""


OTHER_REED = "other-reed"
"""Of a new plan: it has another reed."""
MENDED = "mended"
"""Of a new plan: what is threaded can be mended for it where it is."""
SHORTER = "shorter"
"""Of a new plan: it has no more steps from there on."""


class Way(StrEnum):
    """How to go on after the work was begun at the wrong edge."""

    ORDER = "order"
    """In the opposite order: what is done fits, and the cloth is as planned."""
    EDGE = "edge"
    """As it was begun; the cloth is mirrored."""
    ANEW = "anew"


class Do(StrEnum):
    """What one small step of a mend asks for."""

    FIND = "find"
    """Find an end, on the shaft it is on."""
    FIND_EXTRA = "find extra"
    """Find ends too many on a shaft, just before an end."""
    FIND_DOUBLED = "find doubled"
    """Find the heddle of an end, which holds two."""
    FIND_MISSED = "find missed"
    """Find an end that was left out, beside the end before it."""
    FIND_FIRST = "find first"
    """Find an end that was left out, where the way began: at an edge, or in the centre."""
    TIE = "tie"
    """Tie a repair heddle on a shaft at that spot."""
    DRAW_REPAIR = "draw repair"
    """Draw an end through the repair heddle."""
    DRAW_EMPTY = "draw empty"
    """Draw an end through its own heddle, which hangs empty."""
    PULL = "pull"
    """Pull ends out of their heddles."""
    PULL_EXTRA = "pull extra"
    """Pull ends too many out, for good; the number of them stands as shaft."""
    DRAW = "draw"
    """Draw an end through a heddle that is there, on a shaft."""
    DENT = "dent"
    """Put an end into a dent, which stands as shaft."""
    LEAVE = "leave"
    """Leave an empty heddle of a shaft as it hangs."""
    PULL_REED = "pull reed"
    """Pull ends out of the reed."""
    SLEY = "sley"
    """Put ends into the next dent towards the edge; as many dents stand as shaft to be empty."""


class Task(NamedTuple):
    """One small step of a mend."""

    do: Do
    first: Whole
    """The first end concerned."""
    last: Whole
    """The last end concerned."""
    shaft: Whole = 0
