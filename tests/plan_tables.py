"""Plans for tests of plan reading, built from the tables a file would hold."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from companion.plan.draft.build import compose
from companion.plan.schema import PlanFile

if TYPE_CHECKING:
    from companion.plan.draft.draft import Draft

PartTable = dict[str, Any]


def plan_of(threading: list[PartTable], **tables: Any) -> PlanFile:
    """Return a plan with this threading and these other tables."""
    return PlanFile.model_validate(
        {
            "title": "a plan",
            "warp": {"ends_per_inch": 10},
            "reed": {"dents_per_inch": 10, "width": 40},
            "loom": {"shafts": 4},
            "threading": threading,
            **tables,
        }
    )


def draft_of(threading: list[PartTable], **tables: Any) -> Draft:
    """Return the draft of a plan that must be right."""
    draft, faults = compose(plan_of(threading, **tables))
    assert faults == []
    assert draft is not None
    return draft


def faults_of(threading: list[PartTable], **tables: Any) -> list[tuple[str, str, str]]:
    """Return the faults of a plan that must be wrong: path with dots, fault and mend."""
    _, faults = compose(plan_of(threading, **tables))
    assert faults
    return [(".".join(map(str, path)), fault, mend) for path, fault, mend in faults]


def warp(**keys: Any) -> dict[str, Any]:
    """Return a warp at 10 ends to the inch."""
    return {"ends_per_inch": 10, **keys}
