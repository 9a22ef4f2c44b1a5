"""How well the companion hears this weaver: each command asked for, then ordinary talk."""

import random
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from typing import Any

from companion.base import home
from companion.base.lines import Tell
from companion.base.value import Value
from companion.command import Kind, parse
from companion.devices.hearing.hearing import Accepted, Judgement, Refused
from companion.devices.hearing.listener import Listener
from companion.devices.recogniser.activity import voice_activity
from companion.devices.recogniser.interface import Refusal
from companion.devices.recogniser.samples import write_wav
from companion.devices.speech import Voice
from companion.session.level import set_tail
from companion.session.listening import Asking, figures, microphone_to_ask_at
from companion.session.measured import keep_score, tail_of, write_json
from companion.session.recognisers import choose
from companion.session.setup import LAST_WORDS_SECONDS
from companion.session.spoken import BASIC, commands, forms_of, to_ask_for
from companion.settings import Settings
from companion.wording import score as wording
from companion.wording.hearing import ready, trouble

TIMES = 3
"""How often each command is asked for."""
PATIENCE_SECONDS = 6.0
"""A command not heard by then is missed."""
TALK_SECONDS = 120.0
_FEW = 0.7
"""A form heard in fewer of its tries than this should be changed or taught."""


class Try(Value):
    """One command asked for."""

    said: str
    heard: str
    """What was taken; "" for nothing."""
    milliseconds: int
    """From the end of the word to the decision; 0 where nothing was taken."""
    sound: bytes
    """What was heard, 16 kHz, 16 bit, one channel; empty where nothing was."""

    def outcome(self, language: str) -> str:
        """Return "heard", "missed" or "wrong": another form of the command is heard, too."""
        if not self.heard:
            return "missed"
        is_right = parse(self.heard, language) == parse(self.said, language)
        return "heard" if is_right else "wrong"


class ScoreSitting(Asking):
    """Asks, listens and counts."""

    def begin(self, count: int, talk_seconds: float) -> None:
        """Say what is to come, to its end: the first word is asked for only then."""
        self._prompt(wording.begin(count, talk_seconds))
        self._voice.wait(LAST_WORDS_SECONDS)
        self._microphone.skip()

    def ask(self, forms: Sequence[str]) -> Iterator[Try]:
        """Ask for each form once, in this order; ends early where the sound ends."""
        for form in forms:
            self._prompt(wording.ask(form))
            heard = self._answer(form)
            if heard is None:
                return
            yield heard

    def talk(self, seconds: float) -> Iterator[str]:
        """Listen to ordinary talk for so long; yield what is taken for a command."""
        self._prompt(wording.talk(seconds))
        start = self._listener.hearing.seconds
        for block in self._blocks:
            yield from (each.words for each in self._heard(block) if isinstance(each, Accepted))
            if self._listener.hearing.seconds - start >= seconds:
                break

    def end(self, line: str) -> None:
        """Say the score aloud to its end: who listens may not look."""
        self._voice.play([line], interrupt=False)
        self._voice.wait(LAST_WORDS_SECONDS)

    def _answer(self, form: str) -> Try | None:
        """Return what was made of the next sound that stands alone; None where sound ends."""
        due: float | None = None
        for block in self._blocks:
            began = time.perf_counter()
            reports = self._heard(block)
            took = time.perf_counter() - began
            now = self._listener.hearing.seconds
            if due is None and not (self._microphone.is_live and self._voice.is_speaking):
                due = now + PATIENCE_SECONDS
            for report in reports:
                if _is_answer(report):
                    return self._tried(form, report, now - report.end_seconds + took)
            if due is not None and now >= due and not self._listener.is_in_sound:
                return Try(form, "", 0, b"")
        return None

    def _tried(self, form: str, report: Judgement, seconds: float) -> Try:
        words = report.words if isinstance(report, Accepted) else ""
        self._tell(wording.heard(words))
        return Try(form, words, round(1000 * seconds) if words else 0, self._listener.sound)


def score_ear(
    settings: Settings,
    audio_in: Path | None,
    voice: Voice,
    tell: Tell,
    *,
    keeps_sounds: bool = False,
    talk_seconds: float = TALK_SECONDS,
    has_tones: bool = True,
) -> list[Try]:
    """Ask for each command some times, then for talk; tell the figures, keep and return them.

    A loudspeaker whose tail was never measured is measured first, if it `has_tones`: else its
    prompts would be taken for answers. Ctrl-C ends it, and what was asked until then is counted.
    Raises CompanionError where nothing that recognises words is set up, or the recording cannot be
    read.
    """
    language = settings.hearing.language
    source = microphone_to_ask_at(settings, audio_in, lambda line: tell(trouble(line)))
    choice = choose(settings.hearing.recogniser, language)
    recogniser = choice.make()
    tell(ready(choice.line))
    if source.is_live and has_tones and tail_of(settings.audio.output_device) is None:
        set_tail(settings, source.blocks(), voice, tell)
    listener = Listener(recogniser, voice_activity(), commands(language), figures(settings))
    sitting = ScoreSitting(source, listener, voice, tell)
    tries: list[Try] = []
    taken: list[str] = []
    began: float | None = None
    forms = asked_for(language, seed=time.time_ns() if source.is_live else None)
    try:
        sitting.begin(len(forms), talk_seconds)
        tries.extend(sitting.ask(forms))
        began = listener.hearing.seconds
        taken.extend(sitting.talk(talk_seconds))
    except KeyboardInterrupt:
        source.close()
    talked = 0.0 if began is None else listener.hearing.seconds - began
    score = {
        "made": datetime.now(UTC).isoformat(timespec="minutes"),
        "language": language,
        "recogniser": recogniser.name,
        "room_dbfs": round(listener.hearing.floor_dbfs),
        **summary(tries, talked, taken, language),
    }
    for line in lines(score, language):
        tell(line)
    sitting.end(wording.told(score)[0])
    for line in keep(score, tries, keeps_sounds=keeps_sounds):
        tell(line)
    return tries


def keep(score: dict[str, Any], tries: Sequence[Try], *, keeps_sounds: bool) -> Iterator[str]:
    """Keep a score, with the sounds only where that was asked for; yield where it went."""
    keep_score(score["language"], score)
    name = f"score-{score['language']}-{score['made'][:16].replace(':', '')}"
    report = home.data() / "scores" / f"{name}.json"
    write_json(report, score)
    yield wording.kept(report)
    if keeps_sounds:
        folder = report.with_suffix("")
        for number, each in enumerate(tries, 1):
            words = "-".join(each.said.split())
            write_wav(
                folder / f"{number:02} {words} {each.outcome(score['language'])}.wav", each.sound
            )
        yield wording.sounds_kept(folder)


def heard_right(tries: Sequence[Try], language: str) -> dict[str, list[bytes]]:
    """Return the sounds of each form that were taken for it: asked for, so surely meant."""
    right: dict[str, list[bytes]] = {}
    for each in tries:
        if each.outcome(language) == "heard":
            right.setdefault(each.said, []).append(each.sound)
    return right


def asked_for(language: str, *, seed: int | None) -> list[str]:
    """Return the safest form of each basic command, some times each, in a seed's order if any."""
    forms = [to_ask_for(kind, language) for kind in BASIC] * TIMES
    if seed is not None:
        random.Random(seed).shuffle(forms)  # noqa: S311 - an order, no secret
    return forms


def summary(
    tries: Sequence[Try], talk_seconds: float, taken: Sequence[str], language: str
) -> dict[str, Any]:
    """Return the figures, ready to be kept and sent; no sound and no name is in them."""
    outcomes = Counter(each.outcome(language) for each in tries)
    times = [each.milliseconds for each in tries if each.heard]
    return {
        "asked": len(tries),
        **{name: outcomes[name] for name in ("heard", "missed", "wrong")},
        "median_milliseconds": round(median(times)) if times else 0,
        "talk_seconds": round(talk_seconds),
        "false": len(taken),
        "taken_from_talk": dict(Counter(taken)),
        "tries": [
            {
                "said": each.said,
                "heard": each.heard,
                "outcome": each.outcome(language),
                "milliseconds": each.milliseconds,
            }
            for each in tries
        ],
    }


def lines(score: dict[str, Any], language: str) -> list[str]:
    """Return a score as plain lines, with what to change."""
    told = wording.told(score)
    by_form: dict[str, list[str]] = {}
    for each in score["tries"]:
        by_form.setdefault(each["said"], []).append(each["outcome"])
    for form, outcomes in by_form.items():
        right = outcomes.count("heard")
        if len(outcomes) > 1 and right < _FEW * len(outcomes):
            told.append(_advice(form, right, len(outcomes), language))
    return told


def _advice(form: str, right: int, count: int, language: str) -> str:
    command = parse(form, language)
    every = forms_of(Kind(command.kind), language)
    long = [other for other in every if other != form and " " in other]
    return wording.to_change(form, right, count, long[0] if long else "")


def _is_answer(report: Judgement) -> bool:
    """Whether a sound was meant as an answer: not an echo of the prompt, nor a click."""
    if isinstance(report, Refused):
        return report.is_audible and report.refusal is not Refusal.SPEAKING
    return True
