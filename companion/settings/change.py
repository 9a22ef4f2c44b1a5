"""Settings for the ear and the command line: described, and changed one at a time."""

import ast
import inspect
from functools import cache
from itertools import pairwise
from typing import Any, NamedTuple

from pydantic import ValidationError

from companion.base.errors import SettingsError
from companion.base.text import listed, uncapital
from companion.settings import schema
from companion.settings.schema import Settings, SettingsTable, Weaver

WEAVERS = "weavers"
_OWN_WORDS = "Value error, "


class Described(NamedTuple):
    """One setting for the ear."""

    key: str
    """Such as "speech.words_per_minute"."""
    value: str
    meaning: str
    """What it is for and what it may be, in sentences."""


def describe(settings: Settings) -> tuple[Described, ...]:
    """Return each setting with value and meaning, in order; of weavers' own only what is set."""
    rows = [
        _described(name, table, field)
        for name, table in settings
        if isinstance(table, SettingsTable)
        for field in type(table).model_fields
    ]
    rows += [
        _described(f"{WEAVERS}.{name}", own, field)
        for name, own in settings.weavers.items()
        for field in Weaver.model_fields
        if getattr(own, field) is not None
    ]
    return tuple(rows)


def _described(place: str, table: SettingsTable, name: str) -> Described:
    key = f"{place}.{name}"
    limits = expected(key)
    meaning = _meanings()[type(table).__name__, name]
    meaning = f"{meaning} Expected: {limits}." if limits else meaning
    return Described(key, shown(getattr(table, name)), meaning)


@cache
def _meanings() -> dict[tuple[str, str], str]:
    """Return what stands under each field in the source of the schema, by table and field.

    pydantic can read it, but does so as the tables are made, and every walk would wait for that.
    """
    return {
        (table.name, field.target.id): inspect.cleandoc(ast.literal_eval(text.value))
        for table in ast.parse(inspect.getsource(schema)).body
        if isinstance(table, ast.ClassDef)
        for field, text in pairwise(table.body)
        if isinstance(field, ast.AnnAssign)
        and isinstance(field.target, ast.Name)
        and isinstance(text, ast.Expr)
    }


def expected(key: str) -> str:
    """Return what a setting takes, such as "a number from 80 to 450"; "" for any text."""
    table_name, _, rest = key.partition(".")
    if not rest or (table_name == WEAVERS and "." not in rest):
        return f"the table [{key}]"
    is_own = table_name == WEAVERS
    table = Weaver if is_own else type(getattr(Settings(), table_name))
    name = rest.rpartition(".")[2] if is_own else rest
    limits = table.model_json_schema()["properties"].get(name, {})
    limits = limits.get("anyOf", [limits])[0]
    if "enum" in limits:
        return f"one of {', '.join(limits['enum'])}"
    if "minimum" in limits:
        return f"a number from {limits['minimum']:g} to {limits['maximum']:g}"
    return {"boolean": "on or off", "object": "keys with commands"}.get(limits.get("type"), "")


def shown(value: Any) -> str:
    """Return a value as the weaver would say it."""
    if isinstance(value, bool):
        return "on" if value else "off"
    if isinstance(value, dict):
        return ", ".join(f"{key} = {command}" for key, command in value.items()) or "none"
    return str(value) if value != "" else "empty"


def set_value(settings: Settings, key: str, text: str) -> Settings:
    """Return the settings with one changed, such as "keys.bindings.f13" to "done", as typed.

    Raises SettingsError for an unknown key or a value it cannot take.
    """
    *parents, name = _place(settings, key)
    table = settings.model_dump()
    _inner(table, parents)[name] = text
    try:
        return Settings.model_validate(table)
    except ValidationError as error:
        raise SettingsError(f"{fault(key, error.errors()[0])}. It stays as it was.") from None


def reset_value(settings: Settings, key: str) -> Settings:
    """Return the settings with one put back to its default, or taken away where there is none.

    Raises SettingsError for an unknown key.
    """
    *parents, name = _place(settings, key)
    table = settings.model_dump()
    _inner(table, parents).pop(name, None)
    return Settings.model_validate(table)


def fault(key: str, error: Any) -> str:
    """Return what was expected and came, from one of pydantic's errors, for a whole key."""
    message: str = error["msg"]
    if message.startswith(_OWN_WORDS):
        return f"{key}: {message.removeprefix(_OWN_WORDS)}"
    is_text = error["type"] == "string_type"
    limits = "text in quotation marks" if is_text else expected(key) or uncapital(message)
    return f"{key}: expected {limits}, not {error['input']!r}"


def _inner(table: dict[str, Any], parents: list[str]) -> dict[str, Any]:
    for parent in parents:
        table = table.setdefault(parent, {})
    return table


def _place(settings: Settings, key: str) -> tuple[str, ...]:
    """Return the tables and the name of a setting; a name of the weaver's may hold a dot."""
    table, _, rest = key.partition(".")
    weaver, _, name = rest.rpartition(".")
    if table == WEAVERS and weaver and name in Weaver.model_fields:
        return table, settings.known_as(weaver), name
    keys = [row.key for row in describe(Settings())]
    for known in keys:
        if key == known:
            return tuple(key.split("."))
        if known.endswith(".bindings") and key.startswith(f"{known}."):
            return (*known.split("."), key.removeprefix(f"{known}."))
    raise SettingsError(f"There is no setting {key}. {nearest(key)}")


def nearest(key: str) -> str:
    """Return a sentence that names the setting most like a mistyped key."""
    import difflib  # noqa: PLC0415 - only a slip needs it

    if key.partition(".")[0] == WEAVERS:
        return f"Expected {WEAVERS}.NAME and one of: {', '.join(Weaver.model_fields)}."
    keys = [row.key for row in describe(Settings())]
    table, _, name = key.partition(".")
    known = {each.partition(".")[2]: each for each in keys if each.startswith(f"{table}.")}
    there = known or {short: each for each in keys for short in (each, each.partition(".")[2])}
    typed = name if known else key
    begun = [each for each in there if typed and each.startswith(typed)]
    if near := begun or difflib.get_close_matches(typed, there, n=1):
        return f"Did you mean {there[near[0]]}?"
    return f"There are {listed(known.values())}." if known else "List them: companion settings"
