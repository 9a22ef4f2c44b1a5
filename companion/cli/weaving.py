"""The command that weaves, pick by pick."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from companion.base.errors import CompanionError
from companion.cli.options import begins_at
from companion.cli.plan_argument import PLAN
from companion.cli.walking import begin_options, walk_plan
from companion.job import is_there
from companion.session.session_lookup import Wanted

if TYPE_CHECKING:
    from pathlib import Path

    from companion.loom.dressing import Dressing


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
    if not is_there(dressing, "weave"):
        raise CompanionError(
            "The plan has no treadling to weave by: expected a tie-up with [[treadling]], such as "
            'picks = "1 to 4" and times = 10, or a WIF draft that holds a treadling or a lift plan.'
        )
    return Wanted(("weave",))
