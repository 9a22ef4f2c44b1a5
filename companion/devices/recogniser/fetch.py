"""Fetching a model from its publisher, when the weaver asks for it; never during a walk."""

import http.client
import tempfile
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import IO

from companion.base.errors import ModelError
from companion.base.lines import Tell
from companion.base.value import Value
from companion.devices.recogniser import models
from companion.devices.recogniser.trial import trial_faults

_BLOCK_BYTES = 1 << 18
_PATIENCE_SECONDS = 30


class Published(Value):
    """A model as its publisher offers it."""

    name: str
    url: str
    size_bytes: int
    sha256: str
    licence: str


def _small(name: str, size_bytes: int, sha256: str) -> Published:
    url = f"https://alphacephei.com/vosk/models/{name}.zip"
    return Published(name, url, size_bytes, sha256, "Apache-2.0")


KNOWN = {
    "en": _small(
        "vosk-model-small-en-us-0.15",
        41_205_931,
        "30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498",
    ),
    "de": _small(
        "vosk-model-small-de-0.15",
        46_499_967,
        "b7e53c90b1f0a38456f4cd62b366ecd58803cd97cd42b06438e2c131713d5e43",
    ),
    "es": _small(
        "vosk-model-small-es-0.42",
        39_817_833,
        "09b239888f633ef2f0b4e09736e3d9936acfd810bc65d53fad45261762c6511f",
    ),
}
"""By language. Size and SHA-256 are those that several unrelated public projects record for these
files; they were not downloaded where this was written. Licence: the publisher's list of models."""


def fetch(
    published: Published,
    folder: Path,
    say: Tell,
    *,
    try_out: Callable[[Path, str], list[str]] = trial_faults,
) -> models.Installed:
    """Download a model, exactly of the published size and SHA-256, and add it to the models folder.

    Raises ModelError for no connection, other content than published, or not a working model.
    """
    with tempfile.TemporaryDirectory(prefix="companion-fetch-") as place:
        path = Path(place) / f"{published.name}.zip"
        with path.open("wb") as file:
            _download(published, file, say)
        say("Checking and unpacking.")
        return models.add(
            path,
            folder,
            name=published.name,
            sha256=published.sha256,
            licence=published.licence,
            origin=published.url,
            try_out=try_out,
        )


def _download(published: Published, file: IO[bytes], say: Tell) -> None:
    size, done = published.size_bytes, 0
    try:
        # All that are known have https, and the hash decides what is taken.
        with urllib.request.urlopen(published.url, timeout=_PATIENCE_SECONDS) as answer:  # noqa: S310
            say(f"Fetching {_megabytes(size)} MB.")
            while done <= size and (block := answer.read(_BLOCK_BYTES)):
                file.write(block)
                before, done = done, done + len(block)
                if 10 * done // size > 10 * before // size:
                    say(f"{_megabytes(done)} of {_megabytes(size)} MB.")
    except (OSError, http.client.HTTPException) as error:
        raise ModelError(
            f"{published.url}: it could not be fetched ({_reason(error)}). Check the connection, "
            "or bring the ZIP file from elsewhere and add it with `companion models add`."
        ) from error
    if done != size:
        came = "more" if done > size else f"{done}"
        raise ModelError(
            f"{published.url}: expected {size} bytes, but {came} came. "
            "Nothing was added; try again later."
        )


def _megabytes(size_bytes: int) -> str:
    return f"{size_bytes / 1e6:.1f}"


def _reason(error: Exception) -> str:
    if isinstance(error, urllib.error.HTTPError):
        error.close()  # it holds the connection
        return f"the server answered {error.code}"
    reason = getattr(error, "reason", None) or error
    return str(getattr(reason, "strerror", None) or reason or type(error).__name__)
