"""The words for each field of a plan, held to the schema they speak of."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any, get_args

import pytest
from pydantic import ConfigDict, TypeAdapter

from companion.plan.fields import FIELDS, field_name, keys_in, tables_with
from companion.plan.schema import PlanFile, Table

if TYPE_CHECKING:
    from collections.abc import Iterator


def models_in(annotation: Any) -> Iterator[type[Table]]:
    """Yield the tables an annotation holds, however deep."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield annotation
    for inner in get_args(annotation):
        yield from models_in(inner)


def names_in(model: type[Table], before: str = "", around: str = "") -> Iterator[str]:
    """Yield the name of every field of the schema, "parts" in "parts" once."""
    for name, field in model.model_fields.items():
        full = f"{before}.{name}" if before else name
        yield full
        if field.annotation == dict[str, str]:
            yield f"{full}.*"
        for inner in models_in(field.annotation):
            if not (name == around == "parts"):
                yield from names_in(inner, full, name)


def test_every_field_of_the_schema_has_words_and_no_other() -> None:
    """A field added to the schema must be explained, and one taken out forgotten."""
    schema = {name for name in names_in(PlanFile) if not name.endswith("parts.parts")}
    blocks = {"blocks.*"}
    assert set(FIELDS) - blocks == schema - blocks


@pytest.mark.parametrize("name", [name for name in FIELDS if "[" not in FIELDS[name].example])
def test_an_example_is_a_line_the_schema_takes(name: str) -> None:
    """What a message advises must itself be right."""
    key, value = next(iter(tomllib.loads(FIELDS[name].example).items()))
    if name == "blocks.*":
        assert isinstance(value, str)
        return
    assert key == name.rpartition(".")[2]
    model: type[Table] = PlanFile
    for step in name.split(".")[:-1]:
        model = next(models_in(model.model_fields[step].annotation))
    field = model.model_fields[key]
    config = ConfigDict(arbitrary_types_allowed=True)
    adapter = TypeAdapter[Any](field.rebuild_annotation(), config=config)
    assert adapter.validate_python(value) is not None


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ((), ""),
        (("warp", "ends"), "warp.ends"),
        (("threading", 2, "block"), "threading.block"),
        (("threading", 0, "parts", 1, "ends"), "threading.parts.ends"),
        (("threading", 0, "parts", 1, "parts", 0, "ends"), "threading.parts.ends"),
        (("blocks", "ends"), "blocks.*"),
        (("loom", "heddles", 3), "loom.heddles"),
    ],
)
def test_a_path_leads_to_its_field(path: tuple[str | int, ...], name: str) -> None:
    """Positions do not matter, and parts may lie in parts."""
    assert field_name(path) == name


def test_keys_are_found_in_their_tables_and_tables_by_their_keys() -> None:
    """Both directions serve a key that stands in the wrong place."""
    assert keys_in("selvedges") == ("floating", "doubled")
    assert keys_in("")[0] == "title"
    assert "draft" not in keys_in("loom")
    assert tables_with("floating") == ("selvedges",)
    assert tables_with("draft") == ("",)
