"""The voice that writes what would be heard into a WAV file, where callouts can be counted."""

from collections.abc import Sequence
from pathlib import Path

from companion.base.errors import CompanionError
from companion.base.lines import Tell
from companion.devices.audio.clip import Clip, resampled, silence
from companion.devices.audio.tones import ToneName, tone
from companion.devices.audio.wav import WavWriter
from companion.devices.speech.voice import ClipSource, Item, Voice, kept_rate

RATE = 22050
"""Samples per second of the file; espeak-ng's own rate."""
GAP_SECONDS = 0.9
"""Digital silence between callouts at 160 words a minute and faster; see `gap_seconds`."""
TONE_GAP_SECONDS = 0.1
"""Silence between a tone and what follows it."""
LINE_LABEL = "line: "
TONE_LABEL = "tone: "


def gap_seconds(words_per_minute: int) -> float:
    """Return the silence between two callouts.

    espeak-ng's pauses inside a line grow as the speech slows; the longest were measured at 0.4 s
    at 160 words a minute and 1.0 s at 80. The gap grows with them and stays well above: whoever
    counts callouts by silence takes three quarters of it as the least silence that parts two.
    """
    return GAP_SECONDS * max(1.0, 160 / words_per_minute)


class WavVoice(Voice):
    """Appends every item of every `play`, before that returns; nothing is cut, whatever interrupts.

    A tone stands 0.1 s before the line that follows it in the same `play`; between callouts are
    `gap_seconds` of digital silence. Each item is also labelled in the file ("line: ..." or
    "tone: ...") when it is closed.

    Args:
        path: the WAV file, replaced if it exists.
        clips: where the speech comes from.
        words_per_minute: speed to begin with.
        report: told once when the file is full, cannot be written, or a line cannot be made.

    Raises:
        AudioError: the file cannot be made.
    """

    def __init__(self, path: Path, clips: ClipSource, words_per_minute: int, report: Tell) -> None:
        self._writer = WavWriter(path, RATE)
        self._clips = clips
        self._words_per_minute = kept_rate(words_per_minute)
        self._report = report
        self._is_failing = False

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:  # noqa: ARG002
        """Write the items; each line is one callout."""
        try:
            self._write(items)
            self._is_failing = False
        except CompanionError as error:
            if not self._is_failing:
                self._report(str(error))
            self._is_failing = True

    def set_rate(self, words_per_minute: int) -> None:
        """Speak later lines at this speed."""
        self._words_per_minute = kept_rate(words_per_minute)

    def close(self) -> None:
        """Finish the file."""
        try:
            self._writer.close()
        finally:
            self._clips.close()

    def _write(self, items: Sequence[Item]) -> None:
        between = gap_seconds(self._words_per_minute)
        gap = between if self._writer.frames else 0.0
        for item in items:
            clip = self._sound(item)
            before = silence(gap, RATE)
            self._writer.write(before)
            label = TONE_LABEL + item.value if isinstance(item, ToneName) else LINE_LABEL + item
            self._writer.label(label)
            self._writer.write(clip)
            gap = TONE_GAP_SECONDS if isinstance(item, ToneName) else between

    def _sound(self, item: Item) -> Clip:
        if isinstance(item, ToneName):
            return tone(item, RATE)
        return resampled(self._clips.clip(item, self._words_per_minute), RATE)
