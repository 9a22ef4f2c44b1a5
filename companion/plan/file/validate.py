"""Holding a plan's tables to the schema, and keeping what can still be judged when they fail it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from pydantic import ValidationError

from companion.plan.file.schema_faults import schema_faults
from companion.plan.schema import PlanFile

if TYPE_CHECKING:
    from collections.abc import Mapping

    from companion.plan.fault import Fault

_TABLES: Mapping[str, Any] = {
    "title": "a plan",
    "warp": {"ends": 1, "ends_per_inch": 1},
    "reed": {"dents_per_inch": 1, "width": 1},
    "loom": {"shafts": 2},
}
_PARTS: Mapping[str, Any] = {
    "threading": {"ends": "1"},
    "colours": {"colour": "white", "ends": 1},
    "treadling": {"picks": "1"},
    "yarn": {"use": "weft", "size": "1 tex"},
}


class Validated(NamedTuple):
    """A plan file, and what is wrong with it."""

    file: PlanFile | None
    """With stand-ins where there are faults; None where even those did not help."""
    faults: list[Fault]
    unsure: frozenset[str]
    """The tables at the top that hold stand-ins or may be missing keys."""


def validated(tables: dict[str, Any]) -> Validated:
    """Return the plan file that a plan's tables make."""
    try:
        return Validated(PlanFile.model_validate(tables), [], frozenset())
    except ValidationError as error:
        faults = schema_faults(error, tables)
    unsure = {str(fault.path[0]) for fault in faults}
    if not unsure <= PlanFile.model_fields.keys():
        unsure.update(PlanFile.model_fields)  # the unknown table may be any of them, misspelt
    try:
        file = PlanFile.model_validate(_with_stand_ins(tables, faults))
    except ValidationError:  # more faults behind the first ones; they are told the next time
        return Validated(None, faults, frozenset(unsure))
    return Validated(file, faults, frozenset(unsure))


def _with_stand_ins(tables: dict[str, Any], faults: list[Fault]) -> dict[str, Any]:
    """Return the tables with what is at fault replaced, so that the rest can still be judged."""
    rest = {key: value for key, value in tables.items() if key in PlanFile.model_fields}
    for top, *inner in (fault.path for fault in faults):
        if top not in rest:
            continue
        if top == "blocks" and inner:
            rest[top] = {**rest[top], inner[0]: "1"}
        elif top in _PARTS and inner:
            rest[top] = list(rest[top])
            rest[top][inner[0]] = _PARTS[top]
        else:
            del rest[top]
    return {**_TABLES, **rest}
