"""The guide through one stage, pure: `step(state, command, stage)` gives what comes of it."""

from companion.guide.effects import ChangeRate, Effects, Leave, Outcome, Say, Tone
from companion.guide.events import Event, Overridden
from companion.guide.fits import check_fits
from companion.guide.guide import likely, may_say, read_on, step, upcoming
from companion.guide.messages import Mode
from companion.guide.opening import start, taken_up, welcome_back
from companion.guide.state import Options, State
from companion.guide.terms import Message
from companion.guide.undoing import restored
