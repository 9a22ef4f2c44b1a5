"""The settings file: TOML, read whole or with every fault told, written whole or not at all.

The file holds only what differs from the defaults, so it stays short. It lies in the user's
configuration folder, or in the folder that the environment variable COMPANION_HOME names.
"""

import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from companion.base import files, home
from companion.base.errors import SettingsError
from companion.base.toml_lines import Locator
from companion.settings.change import fault, nearest
from companion.settings.schema import Settings

FILE_NAME = "settings.toml"

_HEADING = "# Settings of companion. The command `companion settings` tells what each one means.\n"


def settings_path() -> Path:
    """Return where the settings file is, whether or not it exists."""
    return home.config() / FILE_NAME


def load(path: Path | None = None, *, without: str = "") -> Settings:
    """Return the settings of the file, or the defaults; SettingsError, a line for each fault.

    `without` is a setting that is changed now, so that what the file has there does not matter.
    """
    settings, faults = load_usable(path, without=without)
    if faults:
        raise SettingsError("\n".join(faults))
    return settings


def load_usable(path: Path | None = None, *, without: str = "") -> tuple[Settings, tuple[str, ...]]:
    """Return what can be used of the file, defaults for the rest, and one line for each fault.

    For a walk that should begin although a setting is wrong; the caller must tell the lines.
    """
    path = path or settings_path()
    try:
        table = tomllib.loads(text := path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Settings.model_construct(), ()
    except tomllib.TOMLDecodeError as error:
        return Settings(), (f"{path}: expected valid TOML: {error}. Mend that place.",)
    except (OSError, UnicodeDecodeError) as error:
        said = getattr(error, "strerror", None) or "it is not UTF-8"
        return Settings(), (f"{path}: expected a readable text file: {said}. Mend or move it.",)
    *parents, name = without.split(".")
    parent = table
    for key in parents:
        parent = inner if isinstance(inner := parent.get(key), dict) else {}
    parent.pop(name, None)
    return _usable(table, text, path)


def _usable(table: dict[str, Any], text: str, path: Path) -> tuple[Settings, tuple[str, ...]]:
    """Validate, dropping what is wrong until the rest is right."""
    faults: list[str] = []
    while True:
        try:
            return Settings.model_validate(table), tuple(faults)
        except ValidationError as error:
            first = error.errors()[0]
            place = tuple(str(part) for part in first["loc"])
            key, parent = _deepest(table, place)
            faults.append(f"{path}, line {Locator(text).line(place)}: {_told(place, first)}")
            del parent[key]


def _deepest(table: dict[str, Any], place: tuple[str, ...]) -> tuple[str, dict[str, Any]]:
    """Return the last part of `place` that is in the table, with the table that holds it."""
    parent = table
    for key in place[:-1]:
        if not isinstance(parent[key], dict):
            return key, parent
        parent = parent[key]
    return place[-1], parent


def _told(place: tuple[str, ...], error: Any) -> str:
    """Return what was expected, what came and what to do, for one fault pydantic found."""
    name = ".".join(place)
    if error["type"] == "extra_forbidden":
        return f"there is no setting {name}. {nearest(name)}"
    return f"{fault(name, error)}. Mend that line, or delete it for the default."


def save(settings: Settings, path: Path | None = None) -> None:
    """Write the settings, whole or not at all; SettingsError where the old file stays.

    A file with remarks of the weaver's own is kept beside the new one, as settings.toml.bak.
    """
    path = path or settings_path()
    import tomli_w  # noqa: PLC0415 - a walk begins without it

    text = _HEADING + "\n" + tomli_w.dumps(settings.model_dump(exclude_defaults=True))
    try:
        _keep_remarks(path)
        files.replace(path, text.encode())
    except OSError as error:
        raise SettingsError(
            f"Expected to write the settings to {path}: {error.strerror}. "
            "Mend that, and set it again."
        ) from None


def _keep_remarks(path: Path) -> None:
    if not path.exists():
        return
    text = path.read_text(encoding="utf-8", errors="replace")
    if "#" in text.replace(_HEADING, ""):
        files.replace(path.with_suffix(".toml.bak"), text.encode())
