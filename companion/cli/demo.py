"""The command that walks a demo plan, so that nothing need be written to try it all out."""

import shutil
from importlib.metadata import PackageNotFoundError, files
from pathlib import Path
from typing import Any

import click

from companion.base.errors import CompanionError
from companion.cli.walking import begin_options, walk_plan
from companion.job import stages
from companion.session.session_lookup import Wanted

FIRST = "first-try"
_CHECKOUT = Path(__file__).parents[2] / "plans"


@click.command()
@click.argument("name", default=FIRST)
@click.option("--list", "is_listing", is_flag=True, help="Print the names of the demo plans.")
@click.option(
    "--to",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="FOLDER",
    help="Copy the demo plans and what explains them into FOLDER, and walk none.",
)
@begin_options
def demo(name: str, *, is_listing: bool, to: Path | None, **options: Any) -> None:
    """Walk the demo plan NAME; without a name, a small warp of 40 ends.

    It is walked as `companion thread` walks a plan of your own, and needs no loom.
    """
    folder = plans_folder()
    names = sorted(path.stem for path in folder.glob("*.toml"))
    if is_listing:
        click.echo("\n".join(names))
    elif to:
        _copy(folder, to)
    elif name in names:
        path = folder / f"{name}.toml"
        walk_plan(path, lambda dressing: Wanted(stages(dressing)), options, is_trial=True)
    else:
        raise CompanionError(f"Expected one of {', '.join(names)}, not {name}.")


def plans_folder() -> Path:
    """Return where the demo plans are: beside the code in a checkout, else as installed."""
    if _CHECKOUT.is_dir():
        return _CHECKOUT
    try:
        installed = files("companion") or []
    except PackageNotFoundError:
        installed = []
    for file in installed:
        if file.name == f"{FIRST}.toml":
            return Path(str(file.locate())).resolve().parent
    raise CompanionError("The demo plans were not installed. Please install the companion again.")


def _copy(folder: Path, to: Path) -> None:
    try:
        to.mkdir(parents=True, exist_ok=True)
        for path in sorted(folder.iterdir()):
            if (to / path.name).exists():
                raise CompanionError(f"{to / path.name} exists already. Name another folder.")
            shutil.copyfile(path, to / path.name)
            click.echo(f"Wrote {to / path.name}")
    except OSError as error:
        raise CompanionError(f"{to} cannot be written: {error.strerror}.") from None
