"""Settings for the ear and the command line: described, and changed one at a time."""

from __future__ import annotations

import difflib
from typing import Any, NamedTuple

from pydantic import ValidationError

from companion.base.errors import SettingsError
from companion.settings.schema import Settings

_OWN_WORDS = "Value error, "


class Described(NamedTuple):
    """One setting for the ear."""

    key: str
    """Such as "speech.words_per_minute"."""
    value: str
    meaning: str
    """What it is for and what it may be, in sentences."""
    is_default: bool


def describe(settings: Settings) -> tuple[Described, ...]:
    """Return every setting with its value and meaning, in the order of the file."""
    rows = []
    for table_name, table_field in Settings.model_fields.items():
        table = getattr(settings, table_name)
        for name, field in type(table).model_fields.items():
            key = f"{table_name}.{name}"
            value = getattr(table, name)
            limits = expected(key)
            meaning = f"{field.description} Expected: {limits}." if limits else field.description
            is_default = value == getattr(table_field.default, name)
            rows.append(Described(key, shown(value), str(meaning), is_default))
    return tuple(rows)


def expected(key: str) -> str:
    """Return what a setting takes, such as "a number from 80 to 450"; "" for any text."""
    table_name, _, name = key.partition(".")
    if not name:
        return f"the table [{key}]"
    table = type(getattr(Settings(), table_name))
    schema = table.model_json_schema()["properties"].get(name, {})
    if "enum" in schema:
        return f"one of {', '.join(schema['enum'])}"
    if "minimum" in schema:
        return f"a number from {schema['minimum']:g} to {schema['maximum']:g}"
    return {"boolean": "on or off", "object": "keys with commands"}.get(schema.get("type"), "")


def shown(value: Any) -> str:
    """Return a value as the weaver would say it."""
    if isinstance(value, bool):
        return "on" if value else "off"
    if isinstance(value, dict):
        return ", ".join(f"{key} = {command}" for key, command in value.items()) or "none"
    return str(value) if value != "" else "empty"


def set_value(settings: Settings, key: str, text: str) -> Settings:
    """Return the settings with one changed, from the text the weaver gave.

    Args:
        settings: as they are.
        key: such as "speech.words_per_minute" or "keys.bindings.f13".
        text: the value as typed: "180", "on", "done".

    Raises:
        SettingsError: for an unknown key or a value it cannot take.
    """
    table_name, name, *binding = _place(key)
    table = settings.model_dump()
    parent = table[table_name][name] if binding else table[table_name]
    parent[binding[0] if binding else name] = text
    try:
        return Settings.model_validate(table)
    except ValidationError as error:
        raise SettingsError(f"{fault(key, error.errors()[0])}. It stays as it was.") from None


def reset_value(settings: Settings, key: str) -> Settings:
    """Return the settings with one put back to its default, or one binding taken away.

    Raises:
        SettingsError: for an unknown key.
    """
    table_name, name, *binding = _place(key)
    table = settings.model_dump()
    if binding:
        table[table_name][name].pop(binding[0], None)
    else:
        del table[table_name][name]
    return Settings.model_validate(table)


def fault(key: str, error: Any) -> str:
    """Return what was expected and what came, from one error that pydantic found.

    Args:
        key: the whole key, dots between its parts.
        error: one entry of `ValidationError.errors()`.
    """
    message: str = error["msg"]
    if message.startswith(_OWN_WORDS):
        return f"{key}: {message.removeprefix(_OWN_WORDS)}"
    limits = expected(key) or message[:1].lower() + message[1:]
    return f"{key}: expected {limits}, not {error['input']!r}"


def _place(key: str) -> tuple[str, ...]:
    """Return table, name and, for a binding, its key (which may itself hold a dot)."""
    keys = [row.key for row in describe(Settings())]
    for known in keys:
        if key == known:
            return tuple(key.split("."))
        if known.endswith(".bindings") and key.startswith(f"{known}."):
            return (*known.split("."), key.removeprefix(f"{known}."))
    raise SettingsError(f"There is no setting {key}. {nearest(key)}")


def nearest(key: str) -> str:
    """Return a sentence that names the setting most like a mistyped key."""
    keys = [row.key for row in describe(Settings())]
    near = difflib.get_close_matches(key, keys, n=1)
    return f"Did you mean {near[0]}?" if near else "Run companion settings to hear them all."
