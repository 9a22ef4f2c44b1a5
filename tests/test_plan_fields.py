"""The words that messages have for each field of a plan, taken from the schema."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

import pytest
from pydantic import ConfigDict, TypeAdapter

from companion.plan.file.field_texts import field_at, field_text, keys_in, tables_with
from companion.plan.schema import PlanFile

if TYPE_CHECKING:
    from collections.abc import Iterator

Path = tuple[str, ...]


def paths_in(path: Path = ()) -> Iterator[Path]:
    """Yield the path of every field of the schema, "parts" in "parts" once."""
    for key in keys_in(path):
        yield (*path, key)
        if path[-1:] != ("parts",) or key != "parts":
            yield from paths_in((*path, key))


PATHS = list(paths_in())


def test_the_whole_schema_is_walked() -> None:
    """Deep and shallow keys are among them, and each once."""
    assert {("title",), ("warp", "ends"), ("threading", "parts", "times")} <= set(PATHS)
    assert len(PATHS) == len(set(PATHS)) > 90


@pytest.mark.parametrize("path", PATHS, ids=".".join)
def test_every_field_has_words_and_an_example(path: Path) -> None:
    """A field added to the schema must be explained."""
    expected, example = field_text(path)
    assert expected
    assert example.endswith("]") or example.rpartition(" = ")[2]


@pytest.mark.parametrize(
    "path", [path for path in PATHS if not field_text(path).example.startswith("[")], ids=".".join
)
def test_an_example_is_a_line_the_schema_takes(path: Path) -> None:
    """What a message advises must itself be right."""
    ((key, value),) = tomllib.loads(field_text(path).example).items()
    field = field_at(path)
    assert field is not None
    assert key == path[-1]
    config = ConfigDict(arbitrary_types_allowed=True)
    adapter = TypeAdapter[Any](field.rebuild_annotation(), config=config)
    assert adapter.validate_python(value) is not None


@pytest.mark.parametrize(
    ("path", "example"),
    [
        ((), 'title = "Kitchen towels"'),
        (("warp", "ends"), "ends = 300"),
        (("threading", 2, "block"), 'block = "A"'),
        (("threading", 0, "parts", 1, "ends"), 'ends = "1 to 4, 3 to 2"'),
        (("threading", 0, "parts", 1, "parts", 0, "ends"), 'ends = "1 to 4, 3 to 2"'),
        (("blocks", "ends"), 'A = "1-2-1-3"'),
        (("blocks",), '[blocks] with A = "1-2-1-3"'),
        (("loom", "heddles", 3), "heddles = [100, 100, 100, 100]"),
        (("loom",), "[loom] with shafts = 4"),
        (("loom", "kind"), 'kind = "jack"'),
    ],
)
def test_a_path_leads_to_its_example(path: tuple[str | int, ...], example: str) -> None:
    """Positions do not matter, and parts may lie in parts."""
    assert field_text(path).example == example


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        (("loom", "kind"), '"jack", "counterbalance", "countermarch", "table" or "dobby"'),
        (("loom", "shafts"), "a whole number from 2 to 64"),
        (("threading", 0, "times"), 'a whole number from 1 to 1,000,000, or "fill"'),
        (("threading", 0, "parts", 0, "times"), "a whole number from 1 to 1,000,000"),
        (("warp", "width"), "a number above 0, in the plan's units"),
        (("warp", "ends_per_inch"), "a number above 0"),
    ],
)
def test_what_is_expected_follows_from_the_type(path: tuple[str | int, ...], expected: str) -> None:
    """Choices and limits are told as they are judged."""
    assert field_text(path).expected == expected


def test_keys_are_found_in_their_tables_and_tables_by_their_keys() -> None:
    """Both directions serve a key that stands in the wrong place."""
    assert keys_in(("selvedges",)) == ("floating", "doubled")
    assert keys_in(()) == tuple(PlanFile.model_fields)
    assert "draft" not in keys_in(("loom",))
    assert tables_with("floating") == ("selvedges",)
    assert tables_with("draft") == ("",)
