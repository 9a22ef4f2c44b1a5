"""Commands heard without a lesson: the two networks, the rule that joins them, and their weights.

What is said is flite's and espeak-ng's, in quiet; figures for other voices and rooms are in
tests/bench/hearing.
"""

from __future__ import annotations

import itertools
import shutil
import sys
from pathlib import Path

import numpy as np
import pytest
from hearing_fakes import hum, recognise
from voice_recordings import spoken_by_flite
from vosk_korean import Voice, say

from companion.base.errors import ModelError
from companion.devices.recogniser import head, phonemes
from companion.devices.recogniser.interface import Heard, Recogniser, Refusal, Vocabulary
from companion.devices.recogniser.models import installed
from companion.devices.recogniser.phonemes import Spellings
from companion.devices.recogniser.untaught import (
    LANGUAGES,
    Evidence,
    Opinion,
    UntaughtRecogniser,
    heard_forms,
    why_not,
)
from companion.session.recognisers import choose
from companion.session.spoken import commands, unheard, vocabulary

REPOSITORY = Path(__file__).parents[1]
needs_networks = pytest.mark.skipif(bool(why_not("en")), reason="needs hama and livekit-wakeword")
needs_flite = pytest.mark.skipif(shutil.which("flite") is None, reason="needs flite")


class FakeOpinion(Opinion):
    """Thinks of every sound what it is told to."""

    forms = frozenset({"next one", "done", "back"})

    def __init__(self, form: str, surplus: float) -> None:
        self._form, self._surplus = form, surplus
        self.weighed: list[int] = []

    def leaning(self, sound: object) -> str:  # noqa: ARG002 - the interface
        return self._form

    def weigh(self, samples: np.ndarray, sound: object) -> Evidence:  # noqa: ARG002 - the interface
        self.weighed.append(len(samples))
        return Evidence(self._form, -0.1)

    def surplus(self, evidence: Evidence) -> float:
        assert evidence.form == self._form
        return self._surplus


class FakeEmbedder:
    """Has nothing to say of a sound."""

    def embed(self, samples: object) -> np.ndarray:  # noqa: ARG002 - the interface
        return np.zeros((1, 96), np.float32)


class FakeFirst(Recogniser):
    """A recogniser that hears what it is told to."""

    name = "taught"

    def __init__(self, heard: Heard) -> None:
        self._heard = heard

    def check(self) -> list[str]:
        return ["Something is odd."]

    def missing(self, vocabulary: Vocabulary) -> tuple[str, ...]:
        return tuple(sorted(vocabulary.phrases | vocabulary.numbers - {"two"}))

    def expect(self, vocabulary: Vocabulary) -> None:
        self.expected = vocabulary

    def finish(self, sound: bytes) -> Heard:  # noqa: ARG002 - the interface
        return self._heard


LISTENED = Vocabulary(frozenset({"next one", "done"}), frozenset({"two"}))
NOTHING = Heard("", Refusal.UNKNOWN)


def agreed(first: Heard | None, form: str, surplus: float) -> Heard:
    """Return what becomes of a sound, given what either makes of it."""
    opinion, embedder = FakeOpinion(form, surplus), FakeEmbedder()
    ear = UntaughtRecogniser(opinion, embedder, FakeFirst(first) if first else None)
    ear.expect(LISTENED)
    return recognise(ear, hum(300))


def test_alone_it_takes_what_is_sure_enough_and_listened_for() -> None:
    """The least sureness is what parts heard from unsure; "back" is not listened for now.

    In peace it may be less sure, and tells by how much: the room decides (`Hearing`).
    """
    for form, least in (("next one", -0.5), ("done", -1.0)):
        heard, unsure = agreed(None, form, least), agreed(None, form, least - 0.01)
        assert (heard.words, heard.spare) == (form, least)
        assert (unsure.refusal, unsure.is_likely) == (Refusal.UNSURE, True)
    assert not agreed(None, "done", -4.9).is_likely
    assert agreed(None, "done", -5.1).refusal is Refusal.UNKNOWN
    assert agreed(None, "back", 9.0).refusal is Refusal.UNKNOWN
    assert agreed(None, "", 0.0).refusal is Refusal.UNKNOWN


def test_what_would_lead_nowhere_must_be_surer() -> None:
    """It can still be said, to be told why not; but talk is seldom taken for it."""
    for surplus, words in ((1.9, ""), (2.1, "done")):
        ear = UntaughtRecogniser(FakeOpinion("done", surplus), FakeEmbedder())
        ear.expect(Vocabulary(LISTENED.phrases, unlikely=frozenset({"done"})))
        assert recognise(ear, hum(300)).words == words


def test_a_sound_is_weighed_while_the_silence_after_it_lasts() -> None:
    """So that its answer is there when the silence is long enough; once more if it goes on."""
    opinion = FakeOpinion("done", 1.0)
    ear = UntaughtRecogniser(opinion, FakeEmbedder())
    ear.expect(LISTENED)
    word, silence = hum(320), bytes(32 * 256)

    def feed(sound: bytes) -> None:
        for at in range(0, len(sound), 1024):
            ear.feed(sound[at : at + 1024])

    ear.begin()
    feed(silence + word)
    assert opinion.weighed == []
    feed(silence)
    assert len(opinion.weighed) == 1
    feed(word + silence)
    assert ear.finish(silence + word + silence + word + silence).words == "done"
    one, whole = opinion.weighed
    assert whole > one + 320 * 16


def test_the_first_recogniser_is_asked_first() -> None:
    """A taught word counts; only where the other is sure of another command does neither."""
    assert agreed(Heard("two"), "", 0.0).words == "two"
    assert agreed(Heard("done"), "done", 5.0).words == "done"
    assert agreed(Heard("done"), "next one", -0.1).words == "done"
    assert agreed(Heard("done"), "next one", 0.1).refusal is Refusal.UNSURE


def test_what_the_first_leans_to_needs_less() -> None:
    """One taught take nearby makes an unsure command sure enough, another word's does not."""
    leaning = Heard("", Refusal.UNKNOWN, "next one", score=0.3)
    assert agreed(leaning, "next one", -1.5).words == "next one"
    assert agreed(leaning, "next one", -2.5).refusal is Refusal.UNSURE
    assert agreed(leaning, "done", -1.5).refusal is Refusal.UNSURE
    assert agreed(Heard("", Refusal.UNKNOWN, "next one", score=0.1), "next one", -1.5).words == ""
    assert agreed(NOTHING, "next one", 0.1).words == "next one"


def test_together_they_lack_what_both_lack() -> None:
    """The first hears "two" alone, the other the commands; both are shown under one name."""
    first = FakeFirst(NOTHING)
    both = UntaughtRecogniser(FakeOpinion("", 0.0), FakeEmbedder(), first)
    wanted = Vocabulary(frozenset({"done", "count two"}), frozenset({"two", "three"}))
    both.expect(wanted)
    assert (both.name, both.check()) == ("taught", ["Something is odd."])
    assert first.expected == wanted
    assert both.missing(wanted) == ("count two", "three")
    alone = UntaughtRecogniser(FakeOpinion("", 0.0), FakeEmbedder())
    assert (alone.name, alone.check()) == ("untaught", [])
    assert alone.missing(wanted) == ("count two", "three", "two")


def best_by_hand(frames: np.ndarray, word: tuple[int, ...]) -> float:
    """Return the best path's score by trying every path: CTC as its definition says."""

    def collapsed(path: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(s for i, s in enumerate(path) if s and (i == 0 or s != path[i - 1]))

    paths = itertools.product(range(frames.shape[1]), repeat=len(frames))
    rows = range(len(frames))
    return float(max(sum(frames[rows, path]) for path in paths if collapsed(path) == word))


def test_a_word_fits_as_well_as_its_best_path() -> None:
    """Against every path there is, six frames of four symbols; repeated phonemes need a gap."""
    frames = np.log(np.random.default_rng(3).dirichlet(np.ones(4), 6)).astype(np.float32)
    words = [(1,), (2, 3), (1, 1), (3, 1, 2), (2, 2, 1)]
    freest = frames.max(axis=1).sum()
    expected = [best_by_hand(frames, word) - freest for word in words]
    assert Spellings.of(words).fits(frames) == pytest.approx(expected, abs=1e-4)


def test_a_sound_of_any_length_is_as_many_numbers() -> None:
    """The first and the last row stay, what lies between is spread evenly; the length is kept."""
    rows = np.arange(27, dtype=np.float32)[:, np.newaxis] * np.ones(96, dtype=np.float32)
    numbers = head.features(rows)
    assert numbers.shape == (14 * 96 + 1,)
    assert numbers[:-1].reshape(14, 96)[:, 0] == pytest.approx(np.arange(14) * 2.0)
    assert numbers[-1] == pytest.approx(np.log(27))


@pytest.mark.parametrize("language", LANGUAGES)
def test_weights_are_here_and_small(language: str) -> None:
    """Under four megabytes a language, and nearly every form it knows is one that is listened for.

    A form given up since the training still draws sounds away and is never answered with.
    """
    path = head.weights_file(language)
    assert path.stat().st_size < 4_000_000
    classes = set(map(str, head.read_weights(path)["classes"])) - {head.OTHER}
    assert len(classes - vocabulary(language, None).phrases) < len(classes) / 20


@needs_networks
@pytest.mark.parametrize("language", LANGUAGES)
def test_every_command_has_a_form_that_is_heard(language: str) -> None:
    """Whoever speaks the language needs no lesson for any command that takes no number."""
    lost = commands(language).phrases - heard_forms(language)
    assert set(unheard(lost, language)) == set()


@needs_networks
@needs_flite
def test_commands_are_heard_and_other_speech_is_not(tmp_path: Path) -> None:
    """A voice the head never heard; most of the long forms, and none of the talk."""
    ear = choose("untaught", "en").make()
    ear.expect(vocabulary("en", None))
    forms = ["next one", "say again", "take a break", "carry on", "undo that", "stop for today"]
    forms += ["tell me the words", "look at a group", "wrong edge", "new plan"]
    forms += ["read me the cautions"]
    heard = [recognise(ear, spoken_by_flite(form, tmp_path)).words for form in forms]
    assert sum(one == other for one, other in zip(heard, forms, strict=True)) >= 9
    assert all(words in {form, ""} for words, form in zip(heard, forms, strict=True))
    for talk in ("my brother", "dinner time", "in the kitchen", "never mind"):
        assert recognise(ear, spoken_by_flite(talk, tmp_path)).words == ""


@needs_networks
@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="needs espeak-ng")
def test_spanish_commands_are_heard_and_other_speech_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where nothing is set up, by a voice of espeak-ng not trained on; others of it were."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    assert why_not("es") == ""
    chosen = choose("auto", "es")
    assert chosen.line.startswith("Listening for the commands, no lesson needed.")
    ear, speaker = chosen.make(), Voice("es+m1")
    ear.expect(vocabulary("es", None))
    forms = ["uno atrás", "otra vez", "un momento", "dime las palabras", "me equivoqué"]
    heard = [recognise(ear, say(form, speaker)).words for form in forms]
    assert sum(one == other for one, other in zip(heard, forms, strict=True)) >= 4
    assert all(words in {form, ""} for words, form in zip(heard, forms, strict=True))
    for talk in ("mi hermano viene mañana", "vamos a cenar", "la mesa de la cocina", "buenos días"):
        assert recognise(ear, say(talk, speaker)).words == ""


def test_damaged_weights_are_one_line(tmp_path: Path) -> None:
    """What to do is in it."""
    path = tmp_path / "en.npz"
    path.write_bytes(b"no weights")
    with pytest.raises(ModelError, match="Install the companion again"):
        head.read_weights(path)


def test_without_the_phoneme_network_it_is_off_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """As on Windows, for which the package has no build."""
    monkeypatch.setitem(sys.modules, "hama", None)
    assert "Linux and macOS" in why_not("en")
    assert heard_forms("en") == frozenset()
    with pytest.raises(ModelError, match="only where the package hama"):
        phonemes.PhonemeNetwork()


def test_the_weights_are_no_model_of_the_weavers() -> None:
    """They lie among the models of a checkout and are neither listed nor found broken."""
    assert head.weights_folder() == REPOSITORY / "models" / head.FOLDER
    assert head.FOLDER not in [model.name for model in installed(REPOSITORY / "models")]
