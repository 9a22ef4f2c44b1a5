"""The figures that decide when a sound counts; seconds and decibels, with the reason for each."""

from dataclasses import dataclass, field

from companion.devices.recogniser.interface import SAMPLE_RATE

FRAME_SAMPLES = 512
"""Samples of one frame at 16 kHz: what the voice activity detector takes at a time."""
FRAME_BYTES = 2 * FRAME_SAMPLES
FRAME_SECONDS = FRAME_SAMPLES / SAMPLE_RATE


@dataclass(frozen=True, slots=True)
class HearingSettings:
    """When a sound counts as a command."""

    voice_on: float = 0.5
    """Voice probability at which a sound begins."""
    voice_off: float = 0.35
    """Voice probability below which it is taken for silence again."""
    gate_decibels: float = 6.0
    """A sound begins only this far above the noise floor."""
    release_decibels: float = 3.0
    """A sound is over when it falls to within this of the noise floor."""
    least_snr_decibels: float = 9.0
    """The loudest frame of a sound must stand this far above the noise floor."""
    silence_before_seconds: float = 0.3
    """Talk runs on without such a gap; a command is said after one."""
    silence_after_seconds: float = 0.22
    """The gap that ends a sound. Closed consonants inside a word last up to about 0.15 s."""
    shortest_seconds: float = 0.12
    """Clicks, coughs and the beat of the batten are shorter."""
    longest_seconds: float = 1.6
    """The longest command phrase said slowly."""
    longest_number_seconds: float = 6.0
    """A row of digits spoken without a pause."""
    dead_time_seconds: float = 0.7
    """After an accepted command nothing that begins within this time counts; rows of digits do."""
    again_seconds: float = 6.0
    """A likely word that was refused counts where it is said again within this time."""
    talk_sounds: int = 3
    """So many sounds that are no command, within `talk_seconds`, are other people talking."""
    talk_seconds: float = 60.0
    talk_spare: float = 1.0
    """Where others talk a word must be so much surer, or said again. Of 3.4 hours of talk kept for
    choosing seven words were taken without this, and none with it."""
    drowned_decibels: float = 17.0
    """A sound that stands out less is one in a loud room: with talk 10 dB below a command most were
    refused (tests/bench/hearing), and its loudest frame is some 7 dB above the whole."""
    tail_seconds: float = 0.1
    """Still deaf this long after our own voice ends. `silence_before_seconds` comes on top, so
    that an echo is taken for talk running on."""
    echo_seconds: float = 1.0
    """So long after the tail, words that our own voice ended on do not count: they may be it."""
    longest_deaf_seconds: float = 15.0
    """Never deaf longer than this, whatever the loudspeaker reports."""
    has_headphones: bool = False
    """With headphones our voice does not reach the microphone: `through_words` get through."""
    through_words: frozenset[str] = field(default_factory=lambda: frozenset({"stop"}))
    """What still counts while we speak, with headphones."""
    ask_back_words: frozenset[str] = frozenset()
    """Phrases that must be confirmed before they are acted on."""

    @staticmethod
    def frames(seconds: float) -> int:
        """Return how many whole frames make up at least `seconds`."""
        return max(1, round(seconds / FRAME_SECONDS))
