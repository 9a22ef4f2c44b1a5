"""The commands about plans: check and wif."""

from pathlib import Path

import click

from companion.base.files import write_new
from companion.cli.options import FILE, PLAN, print_lines
from companion.loom.compute import read_and_compute
from companion.out.report import report, step_lines
from companion.plan.wif.writer import left_unsaid, write_wif


@click.command()
@PLAN
@click.option("--steps", is_flag=True, help="Print every step of every pass too.")
def check(plan: Path, *, steps: bool) -> None:
    """Print what PLAN comes to: ends, reed, sley, heddles, raddle, groups, tie-up.

    A plan with mistakes is reported whole, each with its line and a way to mend it.
    """
    _, dressing = read_and_compute(plan)
    print_lines(report(dressing))
    if steps:
        print_lines(step_lines(dressing))


@click.command()
@PLAN
@click.argument("file", type=FILE)
def wif(plan: Path, file: Path) -> None:
    """Write the draft of PLAN to FILE in the open WIF 1.1 text format.

    To read a WIF, name it in a plan: draft = "file.wif".
    """
    read, _ = read_and_compute(plan)
    write_new(file, write_wif(read.file, read.draft))
    click.echo(f"Wrote {file}; its thread 1 is at the right edge, seen from the front.")
    print_lines(f"Note: {line}" for line in left_unsaid(read.file, read.draft))
