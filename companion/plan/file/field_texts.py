"""What messages say of each field of the plan file, taken from the models in `plan.schema`."""

from collections.abc import Iterator
from types import UnionType
from typing import Annotated, Any, Literal, NamedTuple, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from companion.base.text import listed, quoted
from companion.plan.fault import Path
from companion.plan.schema import PlanFile
from companion.plan.values import PlanTable


class FieldText(NamedTuple):
    """The words for one field."""

    expected: str
    """What it holds, to follow "expected"."""
    example: str
    """How it is written."""


_PLAN = FieldText("a plan", 'title = "Kitchen towels"')


def field_text(path: Path) -> FieldText:
    """Return the words for the field at a path; a place in a list is told as the list."""
    keys = [key for key in path if isinstance(key, str)]
    if not keys:
        return _PLAN
    found = field_at(path)
    if found is None:  # a name that the weaver gives, in a table of such names
        inner = _said(PlanFile.model_fields[keys[0]].annotation)
        return FieldText(f"a block's short name and its {inner.expected}", 'A = "1-2-1-3"')
    told = _said(Annotated[found.annotation, found])
    is_headed = len(keys) == 1 and (keys_in(path) or get_origin(found.annotation) is dict)
    return told if is_headed else FieldText(told.expected, f"{keys[-1]} = {told.example}")


def field_at(path: Path) -> FieldInfo | None:
    """Return the field of the schema at a path; None where the schema has none."""
    table: type[PlanTable] | None = PlanFile
    field = None
    for key in path:
        if isinstance(key, str):
            field = _fields(table).get(key) if table else None
            table = next(_tables(field.annotation), None) if field else None
    return field


def _fields(table: type[PlanTable]) -> dict[str, FieldInfo]:
    """Return a table's fields; one whose parts hold parts knows them only once it is built."""
    table.model_rebuild()
    return table.model_fields


def keys_in(path: Path) -> tuple[str, ...]:
    """Return the keys that the table at a path may hold; () is the plan itself."""
    field = field_at(path)
    table = next(_tables(field.annotation), None) if field else PlanFile if not path else None
    return tuple(_fields(table)) if table else ()


def tables_with(key: str) -> tuple[str, ...]:
    """Return the tables at the top of the plan that hold `key`, and "" for the plan itself."""
    at_top = ("",) if key in PlanFile.model_fields else ()
    return (*at_top, *(table for table in PlanFile.model_fields if key in keys_in((table,))))


def _tables(annotation: Any) -> Iterator[type[PlanTable]]:
    """Yield the tables that an annotation names, or lists."""
    if isinstance(annotation, type) and issubclass(annotation, PlanTable):
        yield annotation
    for inner in get_args(annotation):
        yield from _tables(inner)


def _said(annotation: Any) -> FieldText:
    """Return what an annotation says of itself, else what its parts say."""
    kind, parts = get_origin(annotation), get_args(annotation)
    if kind is Literal:
        return FieldText(listed(map(quoted, parts), "or"), quoted(parts[0]))
    if kind in {Union, UnionType}:
        told = [_said(part) for part in parts if part is not type(None)]
        return FieldText(", or ".join(each.expected for each in told), told[0].example)
    if kind is dict:
        return _said(parts[1])
    return _annotated(annotation) if kind is Annotated else FieldText("", "")


def _annotated(annotation: Any) -> FieldText:
    """Return the outermost words of an annotation; whole numbers are told by their limits."""
    bare, *notes = get_args(annotation)
    fields = [note for note in notes if isinstance(note, FieldInfo)]
    expected, example = _said(bare)
    for field in fields:
        limits = {type(limit).__name__: limit for limit in field.metadata}
        if bare is int and {"Ge", "Le"} <= limits.keys():
            expected = f"a whole number from {limits['Ge'].ge} to {limits['Le'].le:,}"
        expected = field.description or expected
        example = _written(field.examples[0]) if field.examples else example
    return FieldText(expected, example)


def _written(example: Any) -> str:
    """Return an example as TOML; a table's is written already."""
    if isinstance(example, dict):
        pairs = ", ".join(f"{key} = {_written(value)}" for key, value in example.items())
        return f"{{{pairs}}}"
    if isinstance(example, list):
        return f"[{', '.join(map(_written, example))}]"
    if not isinstance(example, str):
        return str(example)
    return example if example.startswith("[") else f'"{example}"'
