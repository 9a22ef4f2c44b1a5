"""Whatever a plan file holds, the answer is a plan or a report, never anything else."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.base.errors import PlanError
from companion.plan.file.field_texts import keys_in
from companion.plan.file.reader import parse_plan, read_plan

if TYPE_CHECKING:
    from companion.plan.draft.draft import Draft

PLANS = {path.name: path for path in (Path(__file__).parent.parent / "plans").glob("*.toml")}
WIF = (Path(__file__).parent.parent / "plans" / "lattice-scarf.wif").read_text(encoding="utf-8")


def judge(text: str, draft_text: str | None = WIF) -> None:
    """Read a text; a plan must hold together and a report must be short plain lines."""
    try:
        plan = parse_plan(text, "fuzz.toml", draft_text)
    except PlanError as error:
        judge_report(error)
    else:
        judge_draft(plan.draft)


def judge_report(error: PlanError) -> None:
    """Hold a report to its form."""
    assert 1 <= len(error.problems) <= 51
    for problem in error.problems:
        assert str(problem).isprintable()
        assert problem.place.startswith(("line ", "the whole file", "the rest of the file"))
        assert problem.fault.startswith("expected ")
        assert problem.mend


def judge_draft(draft: Draft) -> None:
    """Hold a draft to what every part of the program relies on."""
    assert len(draft.shafts) == len(draft.colours) > 0
    assert (draft.units[0].first, draft.units[-1].last) == (1, len(draft.shafts))
    assert all(after.first == before.last + 1 for before, after in pairwise(draft.units))


edits = st.tuples(
    st.sampled_from(["cut", "double", "insert", "replace"]),
    st.integers(0, 2500),
    st.integers(1, 30),
    st.sampled_from(["", "0", "-", "9" * 30, '"', "\n", "[", "]]", "{", "="])
    | st.sampled_from(["\0", "\u2028", "x = 1", "1e999999999", "0x" + "f" * 5000])
    | st.text(max_size=4),
)


def edited(text: str, edit: tuple[str, int, int, str]) -> str:
    """Return the text with one slip of the fingers in it."""
    kind, at, length, new = edit
    at %= len(text) + 1
    piece = text[at : at + length]
    middle = {"cut": "", "double": piece * 2, "insert": new + piece, "replace": new}[kind]
    return text[:at] + middle + text[at + length :]


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(PLANS)), st.lists(edits, min_size=1, max_size=4))
def test_a_demo_plan_with_slips_in_it(name: str, slips: list[tuple[str, int, int, str]]) -> None:
    """Cut, doubled, inserted and replaced pieces of every demo plan."""
    text = PLANS[name].read_text(encoding="utf-8")
    for slip in slips:
        text = edited(text, slip)
    judge(text)


@settings(max_examples=60, deadline=None)
@given(st.lists(edits, min_size=1, max_size=4))
def test_a_draft_with_slips_in_it(slips: list[tuple[str, int, int, str]]) -> None:
    """The plan is right and its WIF file is not."""
    wif = WIF
    for slip in slips:
        wif = edited(wif, slip)
    judge(PLANS["lattice-scarf.toml"].read_text(encoding="utf-8"), wif)


@settings(
    max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.binary(max_size=200) | st.text(max_size=200).map(lambda text: text.encode("utf-16")))
def test_bytes_of_any_kind(tmp_path: Path, data: bytes) -> None:
    """Pictures, other encodings, nothing at all."""
    path = tmp_path / "plan.toml"
    path.write_bytes(data)
    try:
        text = read_plan(path).text
    except PlanError as error:
        text = str(error)
    assert text


scalars = (
    st.integers(-2, 70)
    | st.sampled_from([10**9, 10**5, 0.5, 1e300, -1.5])
    | st.booleans()
    | st.sampled_from(["fill", "1 to 4", "1-2", "A", "right", "point 4", "16 1/2", "inch", ""])
    | st.sampled_from(["rising", "1 to 1000000", "1+2", "x.wif", "a\nb", "repeat", "\u202e"])
    | st.text(max_size=6)
)
keys = st.sampled_from(
    sorted({key for table in keys_in(()) for key in (table, *keys_in((table,)))})
) | st.text(min_size=1, max_size=5)
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=4),
    max_leaves=12,
)
tables = st.fixed_dictionaries(
    {},
    optional={
        name: values
        | st.dictionaries(st.sampled_from(keys_in((name,)) or ("A", "B")), values, max_size=5)
        | st.lists(st.dictionaries(st.sampled_from(keys_in((name,)) or ("A",)), values), max_size=3)
        for name in keys_in(())
    },
)


def toml_of(value: Any) -> str:
    """Return a value as TOML on one line; its strings are as JSON's."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml_of(str(k))} = {toml_of(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_of, value)) + "]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return json.dumps(value)


def plan_text(tables: dict[str, Any]) -> str:
    """Return tables as a plan file, each key on its own line."""
    return "\n".join(f"{toml_of(key)} = {toml_of(value)}" for key, value in tables.items())


@settings(max_examples=60, deadline=None)
@given(tables)
def test_toml_of_any_shape(tables: dict[str, Any]) -> None:
    """The right keys with wrong values, and the other way round."""
    judge(plan_text(tables))


GOOD: dict[str, Any] = {
    "title": "a plan",
    "warp": {"ends": 40, "ends_per_inch": 10},
    "reed": {"dents_per_inch": 10, "width": 24},
    "loom": {"shafts": 4},
    "blocks": {"A": "1-2"},
    "threading": [{"block": "A", "times": 10}, {"ends": "1 to 4", "times": "fill"}],
    "colours": [{"colour": "white", "ends": 4, "times": "fill"}],
    "groups": {"by": "repeat"},
    "tie_up": {"shed": "rising", "treadles": ["1-2", "3-4"]},
    "treadling": [{"picks": "1-2", "times": 3}],
}


@settings(max_examples=60, deadline=None)
@given(tables)
def test_a_good_plan_with_tables_of_any_shape_in_it(tables: dict[str, Any]) -> None:
    """One or more tables of a plan that is right are put in the place of others."""
    judge(plan_text({**GOOD, **tables}))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from([name for name in GOOD if isinstance(GOOD[name], dict)]), keys, values)
def test_a_good_plan_with_one_key_of_any_shape_in_it(table: str, key: str, value: Any) -> None:
    """One key of a plan that is right gets any value, or a key that is not known comes in."""
    judge(plan_text({**GOOD, table: {**GOOD[table], key: value}}))


def test_the_good_plan_is_good() -> None:
    """The tests above start from a plan without a fault."""
    assert len(parse_plan(plan_text(GOOD), "good.toml").draft.shafts) == 40
