"""Holding a plan's tables to the schema, and keeping what can still be judged when they fail it."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from pydantic import ValidationError

from companion.plan.fault import MAX_FAULTS, Fault, Path, Unsure
from companion.plan.file.field_texts import field_at
from companion.plan.file.schema_faults import schema_faults
from companion.plan.schema import PlanFile

_STAND_INS: Mapping[str, Any] = {
    "title": "a plan",
    "warp": {"ends": 1, "ends_per_inch": 1},
    "reed": {"dents_per_inch": 1, "width": 1},
    "loom": {"shafts": 2},
    "raddle": {"sections_per_inch": 1},
    "weft": {"picks_per_inch": 1},
    "second_beam": {"order": "1-2"},
    "old_warp": {"ends": 1},
}
"""For tables that must be there, or are judged by what they hold together."""
_PARTS: Mapping[str, Any] = {
    "threading": {"ends": "1"},
    "colours": {"colour": "white", "ends": 1},
    "treadling": {"picks": "1"},
    "lifts": {"shafts": "1"},
    "yarn": {"use": "weft", "size": "1 tex"},
}


class Validated(NamedTuple):
    """A plan file, and what is wrong with it."""

    file: PlanFile | None
    """With stand-ins where there are faults; None where even those did not help."""
    faults: list[Fault]
    unsure: Unsure
    """What has a stand-in or was left out."""


def validated(tables: dict[str, Any]) -> Validated:
    """Return the plan file that a plan's tables make.

    What is at fault is left out, or has a stand-in, so that the rest can still be judged; faults
    that show only then, in a table that is at fault already, come of the first ones.
    """
    faults: list[Fault] = []
    unsure: set[str] = set()
    while True:
        try:
            return Validated(PlanFile.model_validate(tables), faults, frozenset(unsure))
        except ValidationError as error:
            found = schema_faults(error, tables)
        known = {fault.path[:1] for fault in faults}
        whole = [fault.path[:1] for fault in found if fault.path[:1] in known]
        faults += [fault for fault in found if fault.path[:1] not in known]
        before, tables = tables, _mended(tables, whole or [fault.path for fault in found], unsure)
        if tables == before or len(faults) >= MAX_FAULTS:  # nothing helps, or it is no plan
            return Validated(None, faults, frozenset(unsure))


def _mended(tables: dict[str, Any], paths: list[Path], unsure: set[str]) -> dict[str, Any]:
    """Return the tables with what is at fault left out or replaced, and say what is unsure."""
    rest = dict(tables)
    for path in paths:
        top, *inner = map(str, path)
        if top not in PlanFile.model_fields:  # it may be any table that is not there, misspelt
            rest.pop(top, None)
            unsure.update(PlanFile.model_fields.keys() - tables.keys())
        elif top in _PARTS and inner and isinstance(rest[top], list):
            unsure.add(top)
            rest[top] = list(rest[top])
            rest[top][int(inner[0])] = _PARTS[top]
        elif top == "blocks" and inner:
            unsure.add(top)
            rest[top] = {**rest[top], inner[0]: "1"}
        elif inner and isinstance(rest.get(top), dict):
            unsure.add(f"{top}.{inner[0]}")
            rest[top] = _without(rest[top], top, inner[0])
        else:
            unsure.add(top)
            rest.pop(top, None)
            rest |= {top: _STAND_INS[top]} if top in _STAND_INS else {}
    return rest


def _without(table: dict[str, Any], name: str, key: str) -> dict[str, Any]:
    """Return a table without a key, or with a stand-in where it cannot do without."""
    rest = {other: value for other, value in table.items() if other != key}
    field = field_at((name, key))
    stand_in = _STAND_INS.get(name, {}).get(key)
    return {**rest, key: stand_in} if field and field.is_required() and stand_in else rest
