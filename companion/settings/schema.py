"""What can be set: one frozen model per device, units in the names, a meaning under each."""

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from companion.command import LANGUAGES, Kind
from companion.command.size import Detail, read_size


def is_command(text: str) -> bool:
    """Say whether `text` begins with the name of a command, such as "read back group 3"."""
    return any(text == kind or text.startswith(f"{kind} ") for kind in Kind)


def _bound(table: dict[str, str]) -> dict[str, str]:
    for key, command in table.items():
        if command and not is_command(command):
            raise ValueError(
                f'expected a command for the key {key}, not "{command}"; one of: {", ".join(Kind)}'
            )
    return table


def _spoken(language: str) -> str:
    if language not in LANGUAGES:
        raise ValueError(f'expected one of {", ".join(LANGUAGES)}, not "{language}"')
    return language


StepText = Annotated[str, AfterValidator(lambda text: str(read_size(text)))]
KeyTable = Annotated[dict[str, str], AfterValidator(_bound)]
Language = Annotated[str, AfterValidator(_spoken)]
SLOWEST, FASTEST = 80, 450
"""Words per minute that espeak-ng keeps to."""
Rate = Annotated[int, Field(ge=SLOWEST, le=FASTEST)]
Engine = Literal["auto", "natural", "system"]
Numbers = Literal["words", "digits", "both"]


class SettingsTable(BaseModel):
    """A table of the settings: unknown keys are mistakes, nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class Speech(SettingsTable):
    """The voice."""

    engine: Engine = "auto"
    """Whether the natural English voice speaks, or the system; hear both: companion voices."""
    voice: str = ""
    """One of the system's voices by name or language, such as en-us; empty means its usual one."""
    words_per_minute: Rate = 160
    """Speed of the speech in words a minute."""
    numbers: Numbers = "words"
    """How numbers are said: as words, digit by digit, or both for those easily mistaken."""
    tones: bool = True
    """Whether short tones tell that a command was heard or refused."""


class Audio(SettingsTable):
    """The loudspeaker and the microphone."""

    output_device: str = ""
    """The loudspeaker by name; empty means the system's own."""
    input_device: str = ""
    """The microphone by name; empty means the system's own."""
    keep_awake_seconds: Annotated[float, Field(ge=0, le=3600)] = 60.0
    """Seconds of silence sent after a sound, so that a wireless loudspeaker stays awake."""


class Keys(SettingsTable):
    """The keys of the terminal."""

    letters: bool = True
    """Whether single letters act at once; off, a letter starts a line that Enter ends."""
    bindings: KeyTable = {}
    """Changes to the key table, from a key to a command; an empty command frees the key."""
    dead_time_seconds: Annotated[float, Field(ge=0.1, le=5)] = 0.3
    """Seconds in which the same key or command does not count again."""


class Pedal(SettingsTable):
    """A foot pedal that is read by itself (Linux), even when the terminal is not in front."""

    device: str = ""
    """The pedal as vendor:product, such as 1234:abcd, or a part of its name; empty means none."""
    by_hand: bool = False
    """Whether it is a switch for the hand, which serves while weaving too."""
    bindings: KeyTable = {}
    """From a key to a command; "f13 hold" and "f13 double" mean holding and a double tap."""
    dead_time_seconds: Annotated[float, Field(ge=0.1, le=5)] = 0.3
    """Seconds in which the same command does not count again."""
    hold_seconds: Annotated[float, Field(ge=0.3, le=5)] = 0.7
    """Seconds a pedal must be down to count as held."""
    double_seconds: Annotated[float, Field(ge=0.2, le=2)] = 0.4
    """Seconds in which two presses count as a double tap."""
    grab: bool = True
    """Whether the pedal is kept from typing into other windows."""


class Walking(SettingsTable):
    """How the job is walked."""

    ask_counts: bool = True
    """Whether each group is counted before the next begins."""
    demand_counts: bool = False
    """Whether a count must be given as a number; off, done twice stands for the planned one."""
    pace_seconds: Annotated[int, Field(ge=0, le=120)] = 0
    """Seconds after which the walk goes on by itself; 0 waits for you."""
    scan_seconds: Annotated[float, Field(ge=0, le=20)] = 2.0
    """Seconds each choice stands before the next is read; 0 has a press move on and a hold take."""
    ask_left: bool = False
    """Whether heddles and dents left over are counted too, at the end of threading and sleying."""
    step: StepText = "1"
    """What one callout gives: 1 to 24 ends, a unit, a dent or a group."""
    detail: Detail = "all"
    """What is told of each end: all of it, its shaft and dent (short), or the shaft alone."""
    say_unit: bool = True
    """Whether a named part of the threading is said where it begins."""
    say_cross: bool = False
    """Whether each callout of the threading reminds you to take the next end from the cross."""
    say_knot: bool = False
    """Whether each group of the threading ends with a reminder to tie it in a slip knot."""
    cautions: bool = True
    """Whether the usual cautions are said before a stage."""
    break_minutes: Annotated[int, Field(ge=0, le=240)] = 25
    """Minutes of work before a break is suggested; 0 means never."""


class Hearing(SettingsTable):
    """Spoken commands."""

    recogniser: Literal["auto", "vosk", "taught", "untaught", "off"] = "auto"
    """What listens for words; auto takes the best that is installed, off listens to none."""
    language: Language = "en"
    """The language of the commands, such as en."""
    headphones: bool = False
    """Whether the speech goes to headphones, so that stop is heard even while it speaks."""


class Weaver(SettingsTable):
    """What one weaver has of her own, in place of what is set for everybody.

    Each field has the name of one in another table, which it replaces while she walks.
    """

    engine: Engine | None = None
    """Whether the natural English voice speaks to her, or the system."""
    voice: str | None = None
    """Her voice of the system's, by name or language."""
    words_per_minute: Rate | None = None
    """Speed of the speech for her, in words a minute."""
    numbers: Numbers | None = None
    """How numbers are said to her: as words, digit by digit, or both."""
    step: StepText | None = None
    """What one callout gives her: 1 to 24 ends, a unit, a dent or a group."""
    detail: Detail | None = None
    """What is told her of each end: all, short or shafts."""
    pace_seconds: Annotated[int, Field(ge=0, le=120)] | None = None
    """Seconds after which the walk goes on by itself for her; 0 waits for her."""


class Settings(SettingsTable):
    """All settings; defaults need no checking, and so no waiting for what checks them."""

    speech: Speech = Speech.model_construct()
    audio: Audio = Audio.model_construct()
    keys: Keys = Keys.model_construct()
    pedal: Pedal = Pedal.model_construct()
    walk: Walking = Walking.model_construct()
    hearing: Hearing = Hearing.model_construct()
    weavers: dict[str, Weaver] = {}
    """What each weaver who says her name with --weaver has of her own."""

    def of(self, weaver: str) -> "Settings":
        """Return the settings as they hold for one weaver; "" and unknown names have no own."""
        own = self.weavers.get(self.known_as(weaver))
        return self.but(**own.model_dump()) if own else self

    def but(self, **wanted: object) -> "Settings":
        """Return the settings with other values, by their fields' names; None leaves one as is."""
        own = {name: value for name, value in wanted.items() if value is not None}
        changed = {
            name: table.model_copy(update={key: own[key] for key in own if hasattr(table, key)})
            for name, table in self
            if own and isinstance(table, SettingsTable)
        }
        return self.model_copy(update=changed)

    def known_as(self, weaver: str) -> str:
        """Return a weaver's name as it is written in the settings, however it was typed."""
        typed = " ".join(weaver.split())
        return next((name for name in self.weavers if name.casefold() == typed.casefold()), typed)
