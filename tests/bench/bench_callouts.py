"""Measure how long the weaver listens: `python tests/bench/bench_callouts.py [ENGINE]`.

The threading of four plans is walked as planned, each count right at the first telling, up to the
end of the group that holds end 96 or to the last one. What is said is made into speech by ENGINE
(system unless natural is named), and its seconds are added up with the pauses between lines and
the tones, as they are heard. Cautions are counted apart.

Then every stage of every demo plan: what is said once, on average and at the longest; and what is
said where the first count is wrong by one or two.

Beside it stands a helper who reads nothing but the shafts of each group, in the same voice.
"""

from __future__ import annotations

import itertools
import sys
import tempfile
from collections import defaultdict
from pathlib import Path
from statistics import fmean
from typing import TYPE_CHECKING, NamedTuple, get_args

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
from companion.guide.messages import Cautions, Finished, StageCaution, StepCall  # noqa: E402 needs the path
from companion.job import stage as stage_of  # noqa: E402 needs the path
from companion.job import stages, whole_job  # noqa: E402 needs the path
from companion.loom.compute import read_and_compute  # noqa: E402 needs the path
from companion.wording import Style, render  # noqa: E402 needs the path
from companion.wording.voice import speak  # noqa: E402 needs the path

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from companion.devices.speech.clips import Clips
    from companion.guide.effects import Effect
    from companion.job import Stage, StageName
    from companion.settings.schema import Engine

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
    state, effects = start(stage, Options(size=size, detail=detail, cautions=False, ask_left=False))
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
        total += ear.heard(outcome.effects, *([StepCall, Finished] if is_over else []))
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


class Once(NamedTuple):
    """The seconds of what is said once in a stage."""

    first: float
    """Opening in a first session; how to ask for help is told only where the job begins."""
    later: float
    first_cautions: float
    """All of them, as where the job begins with this stage."""
    later_cautions: float
    resume: float
    """In the middle of the first group."""
    help: float


def once(stage: Stage, ear: Ear, *, is_begin: bool) -> Once:
    """Return the seconds of what is said once."""
    knows = Options(knows_cautions=True, knows_weaving=True, opening="brief", tell_help=False)
    state, first = start(stage, Options(tell_help=is_begin))
    _, later = start(stage, knows)
    while state.confirmed < stage.groups[0].last_step // 2:
        state = step(state, right_command(state, stage), stage).state
    return Once(
        ear.heard(first, Cautions, StageCaution),
        ear.heard(later, Cautions, StageCaution),
        ear.heard(filter(_is_caution, first)),
        ear.heard(filter(_is_caution, later)),
        ear.heard(welcome_back(state, stage)),
        ear.heard(step(state, Command(Kind.HELP), stage).effects),
    )


def _is_caution(effect: Effect) -> bool:
    return isinstance(effect, Say) and isinstance(effect.message, (Cautions, StageCaution))


def doubts(stage: Stage, ear: Ear) -> Iterator[tuple[str, float]]:
    """Yield what is said, and its seconds, where the first count is wrong by one or two."""
    asked, _ = start(stage, Options(cautions=False))
    for kind in (Kind.WHERE, Kind.TELL_ALL):
        yield f"first {kind}", ear.heard(step(asked, Command(kind), stage).effects)
    while asked.mode not in {Mode.COUNTING, Mode.FINISHED}:
        asked = step(asked, right_command(asked, stage), stage).state
    if asked.mode is Mode.COUNTING:
        yield "where, count due", ear.heard(step(asked, Command(Kind.WHERE), stage).effects)
    right = stage.groups[asked.checked].expected if asked.mode is Mode.COUNTING else 0
    for count in sorted({max(0, right + more) for more in (-2, -1, 1, 2)} - {right}):
        once = step(asked, Command(Kind.COUNT, count), stage)
        if not right or once.state.mode is not Mode.HELD:
            return
        twice = step(once.state, Command(Kind.COUNT, count), stage)
        yield "a wrong count", ear.heard(once.effects)
        yield "the same again", ear.heard(twice.effects)
        for kind in (Kind.MISTAKE, Kind.WHERE, Kind.MEND, Kind.HELP):
            told = step(twice.state, Command(kind), stage)
            if told.is_accepted:
                yield f"then {kind}", ear.heard(told.effects)


def every_stage(ear: Ear, at_doubt: dict[str, list[float]]) -> dict[StageName, list[Once]]:
    """Return what is said once in each stage of all the demo plans; add what is at a doubt."""
    found: dict[StageName, list[Once]] = defaultdict(list)
    for path in sorted((REPOSITORY / "plans").glob("*.toml")):
        dressing = read_and_compute(path)[1]
        names = whole_job(dressing)
        woven: tuple[StageName, ...] = ("weave",) if dressing.draft.moves else ()
        for name in (*names, *woven):
            is_begin = name in {names[0], "weave", *stages(dressing)[:1]}
            found[name].append(once(stage_of(dressing, name), ear, is_begin=is_begin))
            for what, seconds in doubts(stage_of(dressing, name), ear):
                at_doubt[what].append(seconds)
    return found


def main() -> None:
    """Print both tables."""
    engine: Engine = "natural" if sys.argv[1:] == ["natural"] else "system"
    threaded = [
        stage_of(read_and_compute(REPOSITORY / "plans" / f"{name}.toml")[1], "thread")
        for name in PLANS
    ]
    with tempfile.TemporaryDirectory() as folder:
        clips = make_clips(engine, "", print, Path(folder))
        for rate in RATES:
            ear = Ear(clips, rate)
            print(f"\n{engine} voice, {rate} words a minute; seconds an end with boundaries")
            print(f"{'':22}" + "".join(f"{name:>19}" for name in (*PLANS, "mean")))
            show("only the shafts", [helper(stage, ear) for stage in threaded])
            ends = {}
            for detail, size in itertools.product(DETAILS, SIZES):
                found = [walked(stage, ear, size, detail) for stage in threaded]
                show(f"{detail}, step {size}", [seconds for seconds, _ in found])
                ends[detail, size] = [boundary for _, boundary in found]
            print("seconds each")
            show("boundary, all, step 1", ends[DETAILS[0], SIZES[0]])
            at_doubt: dict[str, list[float]] = defaultdict(list)
            show_once(every_stage(ear, at_doubt))
            print("at a wrong count: mean / longest")
            for what, seconds in at_doubt.items():
                print(f"{what:22}{fmean(seconds):8.1f} /{max(seconds):5.1f}", flush=True)
        clips.close()


def show_once(found: dict[StageName, list[Once]]) -> None:
    """Print what is said once, a stage to a row: the mean of the plans, and the longest."""
    print(f"said once: {', '.join(Once._fields)}")
    for name, rows in found.items():
        cells = "".join(f"{fmean(cell):8.1f} /{max(cell):5.1f}" for cell in zip(*rows, strict=True))
        print(f"{name:18}{cells}", flush=True)


def show(name: str, seconds: Sequence[float]) -> None:
    """Print one row with its mean."""
    cells = "".join(f"{each:19.2f}" for each in (*seconds, fmean(seconds)))
    print(f"{name:22}{cells}", flush=True)


if __name__ == "__main__":
    main()
