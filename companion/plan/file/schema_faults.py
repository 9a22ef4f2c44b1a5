"""From what pydantic finds wrong in a plan to faults a weaver can act on."""

from collections.abc import Mapping
from decimal import Decimal
from itertools import islice
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from companion.base.text import printable, quoted
from companion.plan.fault import MAX_FAULTS, Fault, Path
from companion.plan.file.field_texts import field_text, keys_in, tables_with

_LONGEST = 60
"""Characters of a key compared with others."""
_HUGE = 10**12
_CENTIMETRES = ("cm", "centim", "mm", "millim", "metre", "meter")
_OTHER_NAMES = {
    "epi": "ends_per_inch",
    "epc": "ends_per_cm",
    "sett": "ends_per_inch",
    "dpi": "dents_per_inch",
    "dents": "dents_per_inch",
    "harness": "shafts",
    "harnesses": "shafts",
    "frames": "shafts",
    "color": "colour",
    "colors": "colours",
    "waste": "loom_waste",
    "ppi": "picks_per_inch",
}
"""What else weavers call what a plan names."""


def schema_faults(error: ValidationError, plan: Mapping[str, Any]) -> list[Fault]:
    """Return one fault for each field that pydantic refused in the tables as read."""
    faults: dict[Path, Fault] = {}
    for detail in islice(error.errors(include_url=False), MAX_FAULTS):
        path, value = _follow(detail["loc"], plan)
        faults.setdefault(path, _fault(detail, path, value))
    return list(faults.values())


def _follow(location: tuple[str | int, ...], plan: Mapping[str, Any]) -> tuple[Path, Any]:
    """Return the path and value in the file; pydantic adds its own words at the end."""
    path: Path = ()
    value: Any = plan
    for key in location:
        if isinstance(value, dict) and isinstance(key, str):
            path, value = (*path, key), value.get(key)
        elif isinstance(value, list) and isinstance(key, int):
            path, value = (*path, key), value[key]
        else:
            break
    return path, value


def _fault(detail: ErrorDetails, path: Path, value: Any) -> Fault:
    kind = detail["type"]
    if kind == "extra_forbidden":
        return _unknown_key(path)
    field = field_text(path)
    if kind == "missing":
        inside = f" to {_heading(path[:-1])}" if len(path) > 1 else ""
        return Fault(
            path,
            f"expected {path[-1]}, {field.expected}, and it is missing",
            f"Add {field.example}{inside}",
        )
    if kind == "value_error" and isinstance(value, dict):
        return Fault(path, str(detail["ctx"]["error"]), f"Write it as in {field.example}")
    is_metric = path == ("units",) and str(value).lower().startswith(_CENTIMETRES)
    return Fault(
        path,
        f"expected {field.expected}, not {_described(value)}",
        'Write units = "metric"' if is_metric else f"Write it as in {field.example}",
    )


def _unknown_key(path: Path) -> Fault:
    from difflib import get_close_matches  # noqa: PLC0415 - only a slip needs it

    key, known = str(path[-1]), keys_in(path[:-1])
    fault = f"expected a key that belongs to {_heading(path[:-1])}, not {_described(key)}"
    if len(path) == 1:
        fault = f"expected a key or a table of the plan, not {_described(key)}"
    homes = [_heading((home,) if home else ()) for home in tables_with(key)]
    other = _OTHER_NAMES.get(key.lower(), "")
    close = [other] if other in known else get_close_matches(key.lower()[:_LONGEST], known, n=1)
    if close and key not in keys_in(()):
        return Fault(path, fault, f"Write {close[0]} if that is meant")
    if homes:
        return Fault(path, fault, f"Move it to {' or '.join(homes)}")
    return Fault(path, fault, f"Take it out; the keys here are {', '.join(known)}")


def _heading(table: Path) -> str:
    if not table:
        return "the top of the plan, above every table"
    is_list = field_text(table[:1]).example.startswith("[[")
    return f"[[{table[0]}]]" if is_list else f"[{table[0]}]"


def _described(value: Any) -> str:
    """Return a value of a TOML file: itself where it is short, else its kind."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, int):
        return str(value) if abs(value) < _HUGE else "a huge number"
    if isinstance(value, Decimal):
        return printable(str(value))
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list) else "a date or time"
