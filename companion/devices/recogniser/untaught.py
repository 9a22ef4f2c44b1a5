"""Commands heard without a lesson: two networks that err differently must agree on one sound.

The head (`head.py`) knows the commands by their speech embeddings, the phoneme network
(`phonemes.py`) by their sounds. What both take for the same command, and surely enough, counts.
Figures: tests/bench/hearing/README.md.
"""

import numpy as np
from numpy.typing import NDArray

from companion.base.value import Value
from companion.devices.recogniser.embedding import Embedder, Embeddings, SpeechEmbedder
from companion.devices.recogniser.head import OTHER, head_from, read_weights, weights_file
from companion.devices.recogniser.interface import Heard, Recogniser, Refusal, Vocabulary
from companion.devices.recogniser.phonemes import PhonemeNetwork, Spellings
from companion.devices.recogniser.taught import Samples, from_pcm16, spoken_part

LANGUAGES = ("en", "es")
"""The languages there are weights for."""
_LEAST_SHARE = -5.0
"""A command of which the head is less sure is ruled out; where all are, no phonemes are heard."""
_MOST_MARGIN = 1.0
"""How far a command is clear of ordinary words counts up to this."""
_GAP = 1.5
"""What the fit of the phonemes weighs beside the head's opinion and that margin; like the margin
chosen on the first half of the unseen speakers."""
_IN_PEACE = {False: 1.0, True: 0.5}
"""How much less sure a command of one word, or of more, may be where nobody talks and it stands
clear of the room: of one word more were lost. On the speakers kept for choosing another word than
the one said came within 1.6, no nearer."""
_FAR = 5.0
"""What falls short by more is none of the commands: of the talk kept for choosing 85 % of what came
nearest to one did, of the commands said 3 %."""
_HELP = 2.0
"""How much less is asked where another recogniser leans to the same command."""
UNLIKELY = 2.0
"""How much more is asked where a command would lead nowhere now."""
LIKELY = 1.25
"""How much less is asked where the same command is said twice on end. On the first half of the
unseen speakers another command than the one said came 1.67 short of being taken, no nearer."""
_LEANING = 0.2
"""The other recogniser's score from which on it leans to a word; a taught word then lies within
0.07."""


class Evidence(Value):
    """What speaks for the likeliest command; natural logarithms."""

    form: str
    """The command, or `OTHER`."""
    share: float
    """Of the head's probability, 0 at most."""
    gap: float = 0.0
    """How much worse the command's phonemes fit than any row of phonemes, for each of them."""
    margin: float = 0.0
    """How much better they fit than the best ordinary word or other command, for each of them."""

    @property
    def total(self) -> float:
        """How surely it is the command; comparable between commands."""
        return self.share + _GAP * self.gap + min(self.margin, _MOST_MARGIN)


class Opinion:
    """Weighs a sound by both networks; ModelError where weights or packages are missing."""

    def __init__(self, language: str) -> None:
        kept = read_weights(weights_file(language))
        self._head = head_from(kept)
        self._network = PhonemeNetwork()
        self._owners = np.array(list(map(str, kept["spelling_of"])))
        self._own = self._spelt(kept["spellings"])
        self._ordinary = self._spelt(kept["ordinary"])
        forms = (form for form in self._head.classes if form != OTHER)
        self._least = dict(zip(forms, map(float, kept["least"]), strict=True))
        self.forms = frozenset(self._head.classes) - {OTHER}
        """The commands it knows."""

    def leaning(self, sound: Embeddings) -> str:
        """Return what the head alone takes a sound for, at little cost; `OTHER` for none."""
        shares = self._head.judge(sound)
        return max(shares, key=shares.__getitem__)

    def weigh(self, samples: Samples, sound: Embeddings) -> Evidence:
        """Return what speaks for the likeliest command in a sound cut to its speech."""
        return max(self.candidates(samples, sound), key=lambda evidence: evidence.total)

    def candidates(self, samples: Samples, sound: Embeddings) -> list[Evidence]:
        """Return what speaks for each command that the head does not rule out, and for none."""
        shares = self._head.judge(sound)
        nothing = Evidence(OTHER, shares.pop(OTHER), margin=-np.inf)
        likely = {form: share for form, share in shares.items() if share >= _LEAST_SHARE}
        if not likely:
            return [nothing]
        heard = self._network.hear(samples)
        fits = self._own.fits(heard)
        ordinary = float(self._ordinary.fits(heard).max())
        return [nothing, *(self._evidence(*each, fits, ordinary) for each in likely.items())]

    def _evidence(
        self, form: str, share: float, fits: NDArray[np.float32], ordinary: float
    ) -> Evidence:
        is_own = self._owners == form
        gap = float(fits[is_own].max())
        others = max(ordinary, float(fits[~is_own].max()))
        count = int(np.count_nonzero(self._own.columns[is_own][fits[is_own].argmax()]))
        return Evidence(form, share, gap / count, (gap - others) / count)

    def surplus(self, evidence: Evidence) -> float:
        """Return how much surer it is than it must be; below 0 it is not the command."""
        return evidence.total - self._least[evidence.form]

    def _spelt(self, texts: NDArray[np.generic]) -> Spellings:
        return Spellings.of([self._network.columns(str(text)) for text in texts])


class UntaughtRecogniser(Recogniser):
    """Recognises commands whoever says them; alone, or as second opinion to another recogniser.

    Where both are sure of different words neither counts. Where the first, if there is one, leans
    to a command without being sure, less is asked of this one.
    """

    def __init__(
        self, opinion: Opinion, embedder: Embedder, first: Recogniser | None = None
    ) -> None:
        self._opinion = opinion
        self._embedder = embedder
        self._is_alone = first is None
        self._first = first or Recogniser()
        self.name = self._first.name or "untaught"
        self._allowed: frozenset[str] = frozenset()
        self._unlikely: frozenset[str] = frozenset()
        self._begun = b""
        self._newest = b""
        self._weighed: tuple[bytes, Evidence] | None = None

    def check(self) -> list[str]:
        """Return what keeps the first recogniser from working; this one works once loaded."""
        return self._first.check()

    def missing(self, vocabulary: Vocabulary) -> tuple[str, ...]:
        """Return what neither listens for: here whatever holds a number, and words it lacks."""
        return tuple(sorted(set(self._first.missing(vocabulary)) - self._opinion.forms))

    def expect(self, vocabulary: Vocabulary) -> None:
        """Listen only for these forms; the others still draw sounds away."""
        self._allowed = vocabulary.phrases & self._opinion.forms
        self._unlikely = vocabulary.unlikely
        self._first.expect(vocabulary)

    def begin(self) -> None:
        """Start a sound."""
        self._begun = self._newest = b""
        self._first.begin()

    def feed(self, pcm16: bytes) -> None:
        """Take the next piece of the sound; alone, look whether it is over."""
        self._first.feed(pcm16)
        if self._is_alone:
            self._begun += pcm16
            self._look_ahead()

    def finish(self, sound: bytes) -> Heard:
        """Say which command it was, or refuse it."""
        samples = spoken_part(from_pcm16(sound))
        first = self._first.finish(sound)
        if not len(samples):
            return first
        if first.words and self._leaning(samples) in {OTHER, first.words}:
            return first  # nothing speaks against it, and nobody waits for the phonemes
        return self._agreed(first, self._weigh(samples))

    def _leaning(self, samples: Samples) -> str:
        return self._opinion.leaning(self._embedder.embed(samples))

    def _look_ahead(self) -> None:
        """Weigh what one more piece of silence did not change: so it is done when that is over."""
        samples = spoken_part(from_pcm16(self._begun))
        before, self._newest = self._newest, samples.tobytes()
        if before and self._newest == before:
            self._weigh(samples)

    def _weigh(self, samples: Samples) -> Evidence:
        key = samples.tobytes()
        if self._weighed is None or self._weighed[0] != key:
            evidence = self._opinion.weigh(samples, self._embedder.embed(samples))
            self._weighed = key, evidence
        return self._weighed[1]

    def _agreed(self, first: Heard, evidence: Evidence) -> Heard:
        surplus = self._opinion.surplus(evidence) if evidence.form != OTHER else -np.inf
        surplus -= UNLIKELY if evidence.form in self._unlikely else 0.0
        if first.words:
            is_other = surplus >= 0 and evidence.form != first.words
            return Heard("", Refusal.UNSURE, first.words) if is_other else first
        if evidence.form not in self._allowed:
            return first if first.nearest else Heard("", Refusal.UNKNOWN, evidence.form)
        helped = first.nearest == evidence.form and first.score >= _LEANING
        if helped and surplus >= -_HELP:
            return Heard(evidence.form)
        is_unlikely = evidence.form in self._unlikely
        if surplus >= (0.0 if is_unlikely else -_IN_PEACE[" " in evidence.form]):
            return Heard(evidence.form, spare=surplus)
        refusal = Refusal.UNSURE if surplus >= -_FAR else Refusal.UNKNOWN
        return Heard("", refusal, evidence.form, is_likely=surplus >= -LIKELY)


def heard_forms(language: str) -> frozenset[str]:
    """Return the forms that are heard untaught here; none where that cannot work."""
    if why_not(language):
        return frozenset()
    return frozenset(map(str, read_weights(weights_file(language))["classes"])) - {OTHER}


def why_not(language: str) -> str:
    """Return why commands cannot be heard untaught, as one line or none; nothing is loaded."""
    if language not in LANGUAGES:
        return f"Without a lesson or a model only these are heard: {', '.join(LANGUAGES)}."
    weights = "" if weights_file(language).is_file() else "The weights are missing."
    return SpeechEmbedder.check() or PhonemeNetwork.check() or weights
