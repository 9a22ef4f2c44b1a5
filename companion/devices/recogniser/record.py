"""What is known of a model since it was added, and whether its files are still the same."""

import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from companion.base.errors import ModelError
from companion.base.files import replace
from companion.devices.recogniser.layout import layout_faults
from companion.devices.recogniser.trial import trial_faults

RECORD_NAME = "companion-model.json"
"""The file in a model's folder that says where it came from and what each of its files was."""


@dataclass(frozen=True, slots=True)
class Record:
    """What is known of a model since it was added."""

    name: str
    language: str
    """Two letters, "" where not known."""
    licence: str
    source: str
    """Where it came from, as given."""
    sha256: str
    """Of the archive; "" for a model added from a folder."""
    added: str
    """UTC, ISO 8601."""
    files: dict[str, str] = field(default_factory=dict)
    """Path in the model's folder to SHA-256."""


def faults(folder: Path) -> list[str]:
    """Return what keeps the model in `folder` from being used, one line each.

    Every file is compared with what was recorded when it was added. A model without a record is
    tried in another process.
    """
    problems = layout_faults(folder)
    if problems:
        return problems
    try:
        record = read_record(folder)
    except ModelError as error:
        return [str(error)]
    if record is None:
        return trial_faults(folder)
    changed = [
        name
        for name, was in record.files.items()
        if not (folder / name).is_file() or hash_file(folder / name) != was
    ]
    return [
        f"{folder.name}: {name} is not as it was when the model was added. "
        "Remove the model's folder and add it again."
        for name in changed
    ]


def hash_file(path: Path) -> str:
    """Return a file's SHA-256 in hexadecimal."""
    with plainly(path), path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def hashes(root: Path) -> dict[str, str]:
    """Return the SHA-256 of every file by its path in the folder."""
    files = sorted(path for path in root.rglob("*") if path.is_file())
    return {path.relative_to(root).as_posix(): hash_file(path) for path in files}


def read_record(folder: Path) -> Record | None:
    """Return the model's record; None for a folder that was copied in by hand."""
    path = folder / RECORD_NAME
    if not path.is_file():
        return None
    try:
        fields: dict[str, Any] = json.loads(path.read_text("utf-8"))
        return Record(**fields)
    except (OSError, ValueError, TypeError) as error:
        raise ModelError(
            f"{folder.name}: the model's record {RECORD_NAME} cannot be read. "
            "Remove the model's folder and add it again."
        ) from error


def write_record(root: Path, record: Record) -> None:
    """Write the record into the model's folder, on the disk at return."""
    text = json.dumps(asdict(record), indent=1, ensure_ascii=False)
    replace(root / RECORD_NAME, text.encode())


@contextmanager
def plainly(path: Path) -> Iterator[None]:
    """Turn the system's errors inside the block into a ModelError about their file, or `path`."""
    try:
        yield
    except OSError as error:
        reason = error.strerror or str(error)
        raise ModelError(
            f"{error.filename or path}: it cannot be read or written ({reason}). "
            "Check the disk and your rights there."
        ) from error
