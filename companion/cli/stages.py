"""The commands that walk the whole job, stage after stage, and the weaving after it."""

from pathlib import Path
from typing import Any, get_args

import click

from companion.base.errors import CompanionError
from companion.cli.options import PLAN, begins_at
from companion.cli.walking import begin_options, walk_plan
from companion.job import StageName, left_out, whole_job
from companion.loom.dressing import Dressing
from companion.session.session_lookup import Wanted
from companion.wording.stages import LEFT_OUT

STAGE = click.Choice([name for name in get_args(StageName) if name != "weave"])


@click.command()
@PLAN
@click.option("--from", "first", type=STAGE, help="Begin with this stage; the others follow.")
@click.option("--only", type=STAGE, help="Walk this stage alone.")
@begins_at(
    "NUMBER",
    "With --from or --only: begin at this end, section or treadle; those before are done.",
    option="--at",
)
@begin_options
def walk(plan: Path, *, first: StageName | None, only: StageName | None, **options: Any) -> None:
    """Walk the whole job of PLAN, from winding the warp to the first picks.

    \b
    From the back:   wind, raddle, beam, heddles, thread and sley, tie-on, tie-up, first-picks
    From the front:  wind, heddles, sley, thread, tie-on-rear, beam, tie-on, tie-up, first-picks

    The plan's method says which. What the plan has nothing for, a raddle or a tie-up, is left out,
    and the reason is told. Two beams, a beam in sections, an old warp to knot to, heddles to move
    and a dobby bring stages of their own. A walk that was left unfinished goes on where it was.

    \b
    A warp that is wound already:   companion walk PLAN --from raddle
    Just the treadles:              companion walk PLAN --only tie-up
    Half threaded, up to end 150:   companion walk PLAN --from thread-and-sley --at 151
    """
    if first and only:
        raise click.UsageError("Give --from or --only, not both.")
    if options["from_end"] and not (first or only):
        raise click.UsageError("Give --from or --only with --at, to say in which stage.")

    def wanted(dressing: Dressing) -> Wanted:
        if only:
            return Wanted((_in_job(only, dressing, "--only"),))
        job = whole_job(dressing)
        if first:
            return Wanted(job[job.index(_in_job(first, dressing, "--from")) :])
        return Wanted(job, is_whole=True)

    walk_plan(plan, wanted, options)


def _in_job(name: StageName, dressing: Dressing, option: str) -> StageName:
    job = whole_job(dressing)
    if name in job:
        return name
    if name in {"thread", "sley"} and "thread-and-sley" in job:
        return "thread-and-sley"
    why = left_out(dressing).get(name)
    reason = LEFT_OUT[why] if why else f"{name} is not a stage of this plan."
    raise click.BadParameter(f"{reason} Its stages are {', '.join(job)}.", param_hint=option)


@click.command()
@PLAN
@begins_at("PICK", "Begin at this pick, on a cloth that is woven up to it.")
@click.option("--pedal", is_flag=True, help="Use a foot pedal too, on a table loom.")
@begin_options
def weave(plan: Path, *, pedal: bool, **options: Any) -> None:
    """Weave PLAN pick by pick: treadles or shafts, weft colour, repeats, and where to measure.

    A walk that was left goes on where it was, weeks later too. At each repeat the picks are
    counted; "back" takes a pick out again.

    \b
    Words, keys and steps are those of the other walks:
      companion weave PLAN --step 4        four picks at a time
      keep going, or v                     the picks come by themselves
    """
    walk_plan(plan, lambda dressing: woven(dressing, has_pedal=pedal), options)


def woven(dressing: Dressing, *, has_pedal: bool = False) -> Wanted:
    """Return that the plan is to be woven, where it can be.

    Raises:
        CompanionError: it has no treadling, or a foot pedal is wanted where the feet are at work.
    """
    if has_pedal and dressing.loom_kind != "table":
        raise CompanionError(
            "--pedal: a foot pedal is not used for weaving, since your feet are on the treadles. "
            "Use a hand switch, your voice, an earbud's button, or keep going."
        )
    if not dressing.draft.moves:
        raise CompanionError(
            "The plan has no treadling to weave by: expected a tie-up with [[treadling]], such as "
            'picks = "1 to 4" and times = 10, or a WIF draft that holds a treadling or a lift plan.'
        )
    return Wanted(("weave",))
