"""Single sounds cut out of the stream, set apart by silence; pure, time counted in frames."""

from collections import deque
from dataclasses import dataclass
from enum import Enum, auto

from companion.devices.hearing.settings import FRAME_SECONDS, HearingSettings
from companion.devices.recogniser.interface import Refusal


@dataclass(frozen=True, slots=True)
class Begun:
    """A sound that may become a command has begun."""


@dataclass(frozen=True, slots=True)
class Ended:
    """A whole sound, set apart by silence; it is to be recognised."""

    start_seconds: float
    end_seconds: float
    peak_dbfs: float
    """Level of its loudest frame."""


@dataclass(frozen=True, slots=True)
class Dropped:
    """A sound that cannot be a command, whatever it says."""

    start_seconds: float
    end_seconds: float
    refusal: Refusal


Cut = Begun | Ended | Dropped


class _State(Enum):
    SILENCE = auto()
    SOUND = auto()
    TALK = auto()
    """A sound already given up, running on until there is silence."""


class Segmenter:
    """The cutter. Give it every frame, in order; it answers with what has begun or ended."""

    def __init__(self, settings: HearingSettings) -> None:
        self._settings = settings
        self._floor = NoiseFloor(settings.frames(WINDOW_SECONDS))
        self._state = _State.SILENCE
        self._frame = 0
        self._first = 0
        self._last = 0
        self._peak_dbfs = -100.0
        self._held: list[float] = []
        self._silent = settings.frames(settings.silence_before_seconds)
        self.allows_long = False
        """Whether a sound may be as long as a row of digits."""

    @property
    def floor_dbfs(self) -> float:
        """The noise floor now."""
        return self._floor.dbfs

    @property
    def seconds(self) -> float:
        """The sound's own time: frames taken so far."""
        return self._frame * FRAME_SECONDS

    def frame(self, probability: float, level_dbfs: float) -> Cut | None:
        """Take one frame: how likely it is voice (0 to 1) and its level in dBFS."""
        active = self._is_active(probability, level_dbfs)
        self._frame += 1
        cut = self._on_active(level_dbfs) if active else self._on_silent()
        self._measure_floor(level_dbfs, cut)
        return cut

    def know_voice(self, peak_dbfs: float) -> None:
        """Take the loudest frame of an accepted command, to know how loud the weaver speaks."""
        self._floor.know_voice(peak_dbfs)

    def pass_over(self) -> None:
        """Let one frame pass unheard: time goes on, and what it held does not count as silence."""
        self._frame += 1
        self.break_off()

    def break_off(self) -> None:
        """Forget a sound under way: part of it was lost, or we were speaking."""
        self._state = _State.SILENCE
        self._silent = 0
        self._held.clear()

    def _is_active(self, probability: float, level_dbfs: float) -> bool:
        above = level_dbfs - self._floor.dbfs
        if self._state is _State.SILENCE:
            return probability >= self._settings.voice_on and above >= self._settings.gate_decibels
        return probability >= self._settings.voice_off and above >= self._settings.release_decibels

    def _on_active(self, level_dbfs: float) -> Cut | None:
        was_silent, self._silent = self._silent, 0
        self._last = self._frame
        if self._state is _State.SILENCE:
            return self._begin(level_dbfs, was_silent)
        self._peak_dbfs = max(self._peak_dbfs, level_dbfs)
        longest = self._settings.longest_seconds
        if self.allows_long:
            longest = self._settings.longest_number_seconds
        if self._state is _State.SOUND and self._length_seconds > longest:
            self._state = _State.TALK
            return self._dropped(Refusal.LONG)
        return None

    def _measure_floor(self, level_dbfs: float, cut: Cut | None) -> None:
        """Let a frame count as noise, unless it belongs to a sound that may yet be a command."""
        self._held.append(level_dbfs)
        if isinstance(cut, Ended):
            self._held.clear()
        elif self._state is not _State.SOUND:
            self._floor.add(*self._held)
            self._held.clear()

    def _begin(self, level_dbfs: float, silent_frames: int) -> Cut:
        self._first = self._frame - 1
        self._peak_dbfs = level_dbfs
        if silent_frames < self._settings.frames(self._settings.silence_before_seconds):
            self._state = _State.TALK
            return self._dropped(Refusal.JOINED)
        self._state = _State.SOUND
        return Begun()

    def _on_silent(self) -> Cut | None:
        self._silent += 1
        if self._state is _State.SILENCE:
            return None
        if self._silent < self._settings.frames(self._settings.silence_after_seconds):
            return None
        state, self._state = self._state, _State.SILENCE
        return self._end() if state is _State.SOUND else None

    def _end(self) -> Cut:
        if self._length_seconds < self._settings.shortest_seconds:
            return self._dropped(Refusal.SHORT)
        if self._peak_dbfs < self._floor.dbfs + self._settings.least_snr_decibels:
            return self._dropped(Refusal.QUIET)
        return Ended(self._first * FRAME_SECONDS, self._last * FRAME_SECONDS, self._peak_dbfs)

    @property
    def _length_seconds(self) -> float:
        return (self._last - self._first) * FRAME_SECONDS

    def _dropped(self, refusal: Refusal) -> Dropped:
        return Dropped(self._first * FRAME_SECONDS, self._last * FRAME_SECONDS, refusal)


WINDOW_SECONDS = 5.0
PERCENTILE = 0.7
"""Seven frames of ten lie below the floor, so that a radio's speech, which comes and goes, is
part of the noise, while single words with pauses between are not."""
LOWEST_DBFS = -65.0
"""Below this no microphone is believed: digital silence must not make every rustle a word."""


HEADROOM_DECIBELS = 15.0
"""The floor stays this far under the loudest part of the weaver's own commands: her own chatting
must not raise it so high that the command after it goes unnoticed."""
_REMEMBERED = 5


class NoiseFloor:
    """The level under which most of the last `frames` frames lie, in dBFS."""

    def __init__(self, frames: int) -> None:
        self._levels: deque[float] = deque(maxlen=frames)
        self._peaks: deque[float] = deque(maxlen=_REMEMBERED)
        self._dbfs = LOWEST_DBFS

    @property
    def dbfs(self) -> float:
        """The floor now."""
        if not self._peaks:
            return self._dbfs
        voice = sum(self._peaks) / len(self._peaks)
        return max(LOWEST_DBFS, min(self._dbfs, voice - HEADROOM_DECIBELS))

    def know_voice(self, peak_dbfs: float) -> None:
        """Take the loudest frame of an accepted command: so loud does the weaver speak."""
        self._peaks.append(peak_dbfs)

    def add(self, *levels_dbfs: float) -> None:
        """Take the levels of frames that were not a command to us."""
        self._levels.extend(levels_dbfs)
        ordered = sorted(self._levels)
        if ordered:
            self._dbfs = max(LOWEST_DBFS, ordered[int(PERCENTILE * (len(ordered) - 1))])
