"""Each way to dress, walked in a pseudo-terminal from the first step of the job to the last."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from front_door import PLANS, terminal
from job_walker import right_command

from companion.command.size import read_size
from companion.guide import Mode, Options, Say, start, step
from companion.job import stage, whole_job
from companion.loom.compute import compute
from companion.plan.file.reader import read_plan
from companion.wording import Style, render

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from companion.job import StageName
    from companion.loom.dressing import Dressing

LONG_ENOUGH = 40
"""Characters of an answer by which it is known; more of it may be broken over lines."""

WAYS = {
    "rippled-shawl": (
        "First 1 end in each dent, for 28 ends.",
        "Then 4 ends in each dent, for 12 ends.",
        "Leave 4 dents empty.",
    ),
    "puckered-cloth": (
        "Winding the first warp.",
        "Wind every end 117 inches long.",
        "Winding warp 2, each end 126 inches long.",
        "Raddle warp 2 from your left at the back, 12 empty.",
        "Winding on beam 2, 6 turns at most, slacker than the first.",
        "Each beam has its own cross.",
        "Tight stripe. White, beam 1. End",
        "Slack stripe. Pale green, beam 2. End",
        "Tight stripe. White, beam 1. End",
        "Each bout takes ends of both beams; hold both evenly, beam 2 slacker.",
    ),
    "sectional-blanket": (
        "Set up 16 spools at most.",
        "end 1 outermost; leave 1 section empty there.",
        "Section 1: 16 ends, oatmeal.",
        "Wind 8 turns, flat and even; tie the ends in their order, then cut them.",
        "How many ends does this section hold?",
        "Section 2: 16 ends: 8 oatmeal, 8 rust.",
        "Making the heddles ready.",
    ),
    "second-towels": (
        "Winding on the warp beam is complete",
        "Knot each new end to the old end in its place, behind the heddles.",
        "Ends 1 to 24.",
        "How many knots are made here?",
        "Draw the knots through heddles and reed, a few at a time, and never force one.",
        "Knotting to the old warp is complete: 96 knots in 5 groups.",
        "Tying on at the front.",
    ),
    "borrowed-heddles": (
        "Some shafts have too few heddles: slide them over on a stick or a cord, all the same way",
        "From shaft 1 to shaft 2: move 13 heddles.",
        "How many heddles did you move?",
        "From shaft 4 to shaft 3: move 8 heddles.",
        "Moving heddles is complete",
        "Making the heddles ready.",
    ),
    "centred-shawl": (
        "Threading and sleying. Start at the centre, out to the left edge first, seen from the",
        "Dent 38 is dent 1 left of the centre, seen from the front.",
        "Points. Ends 1 and 2: shafts 3, 2, dents 38 and 39. Unit 2. Ends 3 to 8: shaft 1,",
        "Floating selvedge: dent 74, no heddle.",
        "Back to the centre, and out to the right edge, seen from the front. Points. Ends 54",
        "shaft 2 doubled, dents 4 and 3; shaft 1 doubled, dents 3 and 2.",
        "Floating selvedge: dent 1, no heddle.",
        "Threading and sleying is complete: 107 ends in 6 groups.",
        "Tying on at the front.",
    ),
    "indigo-first": (
        "All indigo ends first.",
        "Leave 5 heddles free on each of shafts 1 and 2; 4 on each of shafts 3 and 4.",
        "Indigo. Ends 1 to 6: shafts 3, 4, 1, 2; 3, 4.",
        "Leave 5 heddles free on each of shafts 1 and 2; 4 on each of shafts 3 and 4.",
        "Back to the right edge, seen from the front. Each end now takes the next free",
        "Threading is complete: 156 ends in 9 groups.",
        "Sleying.",
    ),
    "uneven-stripes": (
        "Group 1 of 6. At the cross: 10 plum, 3 sand, 7 plum, 4 sand.",
        "Group 2. At the cross: 8 sand, 5 fern, 11 plum.",
        "Group 5. At the cross: 18 sand, 6 plum.",
        "Threading and sleying is complete: 124 ends in 6 groups.",
        "Tying up the treadles.",
    ),
    "many-shafts": (
        "Ends 1 to 16: shafts 1, 2, 3, 4; 5, 6, 7, 8; 9, 10, 11, 12; 13, 14, 15, 16",
        "Treadle 1: shafts 1 to 3, 6, 9 to 11, 14; 17 to 19, 22, 25 to 27 and 30 up; the others",
        "Treadle 40: shafts 2 to 4, 7, 10 to 12, 15;",
        "Tying up the treadles is complete: 1280 ties in 40 groups.",
    ),
    "table-mats": (
        "Tying on at the front is complete",
        "Each shaft of this loom has its own lever, so there is nothing to tie up.",
        "Shed 1: raise shafts 1, 3, 5 and 7.",
    ),
    "dobby-runner": (
        "8 bars, one for each pick; each peg raises its shaft. They go round 20 times.",
        "Bar 1: pegs 1, 2, 5, 6; 9, 10, 13 and 14.",
        "How many pegs are on these bars?",
        "Bar 8: pegs 2, 4, 6, 8; 10, 12, 14 and 16.",
        "Pegging the bars is complete: 64 pegs in 2 groups.",
    ),
}
"""By the name of a demo plan, what must be heard in this order."""


def answers(dressing: Dressing, name: StageName) -> Iterator[tuple[str, str]]:
    """Yield each line that walks a stage when all goes as planned, and how its answer begins."""
    walked = stage(dressing, name)
    state, _ = start(walked, Options(size=read_size("group"), ask_left=False))
    while state.mode is not Mode.FINISHED:
        command = right_command(state, walked)
        outcome = step(state, command, walked)
        state = outcome.state
        said = [
            render(effect.message, Style()).text
            for effect in outcome.effects
            if isinstance(effect, Say)
        ]
        line = "done" if command.number is None else f"count {command.number}"
        yield line, said[-1][:LONG_ENOUGH] if said else ""


@pytest.mark.parametrize("name", WAYS)
@pytest.mark.long
def test_the_whole_job_is_walked_in_a_terminal(tmp_path: Path, name: str) -> None:
    """Every line typed is answered as planned, and all that is peculiar to the way is said."""
    plan = PLANS / f"{name}.toml"
    dressing = compute(read_plan(plan))
    walk = terminal(tmp_path, "walk", plan, "--text", "--lines", "--step", "group")
    heard = ""
    for each in whole_job(dressing):
        for line, answer in answers(dressing, each):
            walk.sendline(line)
            walk.expect_exact(answer)
            heard += f"{walk.before}{walk.after}"
    walk.sendeof()
    walk.expect_exact("Everything this session was begun for is complete.")
    heard += walk.before or ""
    walk.wait()
    assert walk.exitstatus == 0
    heard = " ".join(heard.split())
    at = 0
    for said in WAYS[name]:
        assert said in heard[at:], said
        at = heard.index(said, at)
