"""The commands about models for recognising speech: list, add, fetch, remove."""

import shutil
import tempfile
from pathlib import Path

import click

from companion.base.errors import ModelError
from companion.cli.options import PATH
from companion.devices.recogniser import models as store
from companion.settings import load


@click.group()
def models() -> None:
    """Add, list, fetch and remove the models that recognise speech."""


@models.command(name="list")
def list_models() -> None:
    """List the models on this machine."""
    found = store.installed(store.default_folder())
    for model in found:
        state = " ".join(model.faults) or "works"
        licence = f", {model.record.licence}" if model.record and model.record.licence else ""
        language = model.language or "language not known"
        megabytes = model.size_bytes / 1e6
        click.echo(f"{model.name}: {language}, {megabytes:.0f} MB{licence}. {state}")
    if not found:
        click.echo(
            f"No models in {store.default_folder()}. With a connection: companion models "
            "fetch. From a file: companion models add FILE.zip"
        )


@models.command()
@click.argument("source", type=PATH)
@click.option("--name", help="What to call it; without this, the model's own name.")
@click.option("--sha256", default="", help="What the file's SHA-256 must be.")
def add(source: Path, name: str | None, sha256: str) -> None:
    """Take in a model from a ZIP file or folder.

    It is kept once it is found to work.
    """
    if source.exists():
        click.echo("Checking the model; this may take a minute.")
    model = store.add(source, store.default_folder(), name=name, sha256=sha256)
    click.echo(f"Added {model.name}, {model.language or 'language not known'}.")


@models.command()
@click.argument("language", required=False)
def fetch(language: str | None) -> None:
    """Download the small model of a language.

    Without LANGUAGE it is that of the commands. No other command uses the network; what comes is
    compared with a known hash.
    """
    from companion.devices.recogniser import fetch as fetching  # noqa: PLC0415 - brings the network in

    wanted = language or load().hearing.language
    published = fetching.KNOWN.get(wanted)
    if published is None:
        raise ModelError(
            f"No model is known for {wanted}; known: {', '.join(fetching.KNOWN)}. "
            "Bring one as a ZIP file and use companion models add."
        )
    model = fetching.fetch(published, store.default_folder(), click.echo)
    click.echo(f"Added {model.name}, {published.licence}.")


@models.command()
@click.argument("name")
def remove(name: str) -> None:
    """Remove the model called NAME from this machine."""
    folder = store.default_folder()
    found = {model.name: model for model in store.installed(folder)}
    if name not in found:
        listed = ", ".join(found) or "none"
        raise ModelError(f"There is no model called {name}; the models here: {listed}.")
    try:
        # Out of the way in one move, so that no half of it is ever taken for a model.
        with tempfile.TemporaryDirectory(prefix=".removing-", dir=folder) as place:
            found[name].folder.rename(Path(place) / name)
            shutil.rmtree(Path(place) / name)
    except OSError as error:
        raise ModelError(f"{name} cannot be removed: {error.strerror or error}.") from None
    click.echo(f"Removed {name}.")
