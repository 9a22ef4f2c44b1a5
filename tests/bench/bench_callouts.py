"""Measure how long the weaver listens: `python tests/bench/bench_callouts.py [ENGINE]`.

The threading of four plans is walked as planned, each count right at the first telling, up to the
end of the group that holds end 96 or to the last one. What is said is made into speech by ENGINE
(system unless natural is named), and its seconds are added up with the pauses between lines and
the tones, as they are heard. Cautions are counted apart.

Beside it stands a helper who reads nothing but the shafts of each group, in the same voice.
"""

from __future__ import annotations

import itertools
import sys
import tempfile
from pathlib import Path
from statistics import fmean
from typing import TYPE_CHECKING, get_args

REPOSITORY = Path(__file__).parents[2]
sys.path[:0] = [str(REPOSITORY), str(REPOSITORY / "tests")]

from job_walker import right_command  # noqa: E402 needs the path

from companion.command import Command, Kind  # noqa: E402 needs the path
from companion.command.size import Detail, StepSize, read_size  # noqa: E402 needs the path
from companion.devices.audio.tones import ToneName, tone  # noqa: E402 needs the path
from companion.devices.speech.live_voice import (  # noqa: E402 needs the path
    PAUSE_AFTER_LINE,
    PAUSE_AFTER_TONE,
    TONE_RATE,
)
from companion.devices.speech.make import make_clips  # noqa: E402 needs the path
from companion.guide import Mode, Options, Say, start, step, welcome_back  # noqa: E402 as above
from companion.guide.effects import Tone  # noqa: E402 needs the path
from companion.guide.messages import Cautions, StageCaution, StepCall  # noqa: E402 needs the path
from companion.job import stage as stage_of  # noqa: E402 needs the path
from companion.loom.compute import read_and_compute  # noqa: E402 needs the path
from companion.wording import Style, render  # noqa: E402 needs the path
from companion.wording.voice import speak  # noqa: E402 needs the path

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from companion.devices.speech.clips import Clips
    from companion.devices.speech.voice import EngineChoice
    from companion.guide.effects import Effect
    from companion.guide.state import State
    from companion.job import Stage

PLANS = ("first-try", "herringbone-scarf", "striped-towels", "lace-napkins")
RATES = (160, 220)
SIZES: Sequence[StepSize] = [read_size(text) for text in ("1", "4", "unit", "dent", "group")]
DETAILS: Sequence[Detail] = get_args(Detail)
LAST_END = 96


class Ear:
    """Adds up what is heard."""

    def __init__(self, clips: Clips, rate: int) -> None:
        self._clips = clips
        self._rate = rate

    def line(self, text: str) -> float:
        """Return the seconds of one line."""
        return self._clips.clip(text, self._rate).seconds

    def heard(self, effects: Iterable[Effect], *without: type) -> float:
        """Return the seconds of one play, but for messages of some types."""
        seconds, pause = 0.0, 0.0
        for effect in effects:
            if isinstance(effect, Tone):
                seconds += pause + tone(ToneName(effect.tune), TONE_RATE).seconds
                pause = PAUSE_AFTER_TONE
            elif isinstance(effect, Say) and not isinstance(effect.message, without):
                seconds += pause + self.line(render(effect.message, Style()).spoken)
                pause = PAUSE_AFTER_LINE
        return seconds


def part(stage: Stage) -> int:
    """Return the last step of what is walked."""
    wanted = next((each.number for each in stage.steps if each.last_end >= LAST_END), None)
    if wanted is None:
        return len(stage.steps)
    return next(group.last_step for group in stage.groups if group.last_step >= wanted)


def ends_to(stage: Stage, last_step: int) -> int:
    """Return how many ends those steps thread."""
    return max(each.last_end for each in stage.steps[:last_step])


def walked(stage: Stage, ear: Ear, size: StepSize, detail: Detail) -> tuple[float, float]:
    """Return the seconds an end, with boundaries, and the seconds of one boundary."""
    last_step = part(stage)
    state, effects = start(stage, Options(size=size, detail=detail, cautions=False))
    total = ear.heard([each for each in effects if _is_call(each)])
    boundaries: list[float] = []
    while state.mode is not Mode.FINISHED:
        is_counting = state.mode in {Mode.COUNTING, Mode.LEFT_OVER}
        outcome = step(state, right_command(state, stage), stage)
        is_asked = not is_counting and outcome.state.mode in {Mode.COUNTING, Mode.LEFT_OVER}
        if is_asked:
            boundaries.append(0.0)
        if is_asked or is_counting:
            boundaries[-1] += ear.heard(outcome.effects, StepCall)
        state = outcome.state
        is_over = is_counting and state.confirmed >= last_step
        total += ear.heard(outcome.effects, *([StepCall] if is_over else []))
        if is_over:
            break
    return total / ends_to(stage, last_step), fmean(boundaries)


def _is_call(effect: object) -> bool:
    return isinstance(effect, Say) and isinstance(effect.message, StepCall)


def helper(stage: Stage, ear: Ear) -> float:
    """Return the seconds an end of a helper who reads the shafts of each group and no more."""
    last_step = part(stage)
    total = 0.0
    for group in stage.groups:
        if group.last_step <= last_step:
            steps = stage.steps[group.first_step - 1 : group.last_step]
            shafts = itertools.chain.from_iterable(each.shafts for each in steps)
            total += ear.line(speak(", ".join(map(str, shafts)), Style()))
    return total / ends_to(stage, last_step)


def once(stage: Stage, ear: Ear) -> dict[str, float]:
    """Return the seconds of what is said once: openings, resuming, help, cautions."""
    state, first = start(stage, Options())
    _, later = start(stage, Options(cautions=False, opening="brief", tell_help=False))
    cautions = [each for each in first if isinstance(each, Say) and _is_caution(each)]
    middle: State = state
    while middle.confirmed < stage.groups[0].last_step // 2:
        middle = step(middle, Command(Kind.DONE), stage).state
    return {
        "first opening": ear.heard(first, Cautions, StageCaution),
        "later opening": ear.heard(later, Cautions, StageCaution),
        "cautions, first": ear.heard(cautions),
        "resume": ear.heard(welcome_back(middle, stage)),
        "help": ear.heard(step(middle, Command(Kind.HELP), stage).effects),
    }


def _is_caution(effect: Say) -> bool:
    return isinstance(effect.message, (Cautions, StageCaution))


def main() -> None:
    """Print both tables."""
    engine: EngineChoice = "natural" if sys.argv[1:] == ["natural"] else "system"
    stages = [
        stage_of(read_and_compute(REPOSITORY / "plans" / f"{name}.toml")[1], "thread")
        for name in PLANS
    ]
    with tempfile.TemporaryDirectory() as folder:
        clips = make_clips(engine, "", print, Path(folder))
        for rate in RATES:
            ear = Ear(clips, rate)
            print(f"\n{engine} voice, {rate} words a minute; seconds an end with boundaries")
            print(f"{'':22}" + "".join(f"{name:>19}" for name in (*PLANS, "mean")))
            show("only the shafts", [helper(stage, ear) for stage in stages])
            ends = {}
            for detail, size in itertools.product(DETAILS, SIZES):
                found = [walked(stage, ear, size, detail) for stage in stages]
                show(f"{detail}, step {size}", [seconds for seconds, _ in found])
                ends[detail, size] = [boundary for _, boundary in found]
            print("seconds each")
            show("boundary, all, step 1", ends[DETAILS[0], SIZES[0]])
            rows = [once(stage, ear) for stage in stages]
            for name in rows[0]:
                show(name, [row[name] for row in rows])
            rows = [once(stage_of(each.dressing, "thread-and-sley"), ear) for each in stages]
            for name in ("first opening", "later opening"):
                show(f"{name}, sleyed", [row[name] for row in rows])
        clips.close()


def show(name: str, seconds: Sequence[float]) -> None:
    """Print one row with its mean."""
    cells = "".join(f"{each:19.2f}" for each in (*seconds, fmean(seconds)))
    print(f"{name:22}{cells}", flush=True)


if __name__ == "__main__":
    main()
