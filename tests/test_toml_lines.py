"""Lines of a plan's text, against the standard library's TOML reader and the TOML standard."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.base.toml_lines import Locator
from companion.plan.fault import Fault

if TYPE_CHECKING:
    from collections.abc import Iterator

# The examples of "Array of Tables" in TOML v1.0.0 (toml.io), from memory.
FRUITS = """\
[[fruits]]
name = "apple"

[fruits.physical]  # subtable
color = "red"
shape = "round"

[[fruits.varieties]]  # nested array of tables
name = "red delicious"

[[fruits.varieties]]
name = "granny smith"


[[fruits]]
name = "banana"

[[fruits.varieties]]
name = "plantain"
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("fruits",), 1),
        (("fruits", 0), 1),
        (("fruits", 0, "name"), 2),
        (("fruits", 0, "physical", "shape"), 6),
        (("fruits", 0, "varieties", 1, "name"), 12),
        (("fruits", 1), 15),
        (("fruits", 1, "varieties", 0, "name"), 19),
        (("fruits", 0, "varieties", 1, "missing"), 11),
        (("fruits", 7), 1),
        (("vegetables",), 1),
        ((), 1),
    ],
)
def test_lines_in_the_standards_own_example(path: tuple[str | int, ...], line: int) -> None:
    """Tables in lists are numbered as the standard does; what is missing is near by."""
    assert Locator(FRUITS).line(path) == line


@pytest.mark.parametrize(
    ("text", "path", "line"),
    [
        ("warp.ends = 3", ("warp", "ends"), 1),
        ("\n[warp]\nends\n= 3", ("warp",), 2),
        ('a = """\n[b]\n"""\n[c]\nd = 1', ("c", "d"), 5),
        ("a = '''\nb = 1\n'''\nb = 2", ("b",), 4),
        ("# [a]\n[a] # = 3\nb = '#'\nc = 1", ("a", "c"), 4),
        ("\"odd key\".'b' = 1", ("odd key", "b"), 1),
        ('"caf\\u00e9" = 1\nx = 2', ("caf\u00e9",), 1),
        ("a = [\n  1,\n\n  [2, 3],\n]", ("a", 1, 1), 4),
        ("a = [\n  {b = 1},\n  {b = {c = [\n1]}}]", ("a", 1, "b", "c", 0), 4),
        ("a = 1979-05-27 07:32:00\nb = 1", ("b",), 2),
        ("a = 1\r\n\r\nb = 2\r\n", ("b",), 3),
    ],
)
def test_lines_of_each_way_to_write_a_key(
    text: str, path: tuple[str | int, ...], line: int
) -> None:
    """Comments, quotes, dotted keys and values over several lines do not lead astray."""
    assert Locator(text).line(path) == line


def test_a_place_is_named_by_line_and_key_counted_from_one() -> None:
    """The weaver hears the line first, and positions as she counts them."""
    lines = Locator(FRUITS)
    found = Fault(("fruits", 0, "varieties", 1, "name"), "", "").placed(lines)
    assert (found.place, found.line) == ("line 12, fruits.1.varieties.2.name", 12)
    assert Fault((), "", "").placed(lines).place == "line 1, the plan"


def test_a_key_that_is_not_printable_does_not_break_the_line() -> None:
    """A place is one line even where a key holds a line break."""
    assert Fault(("a\nb",), "", "").placed(Locator('"a\\nb" = 1')).place == "line 1, a?b"


# In each, "@" becomes the number of its line and "%" a number of its own.
STATEMENTS = (
    "key% = @ # [not.a.table]",
    "key%.inner . 'quoted' = @",
    "key% = {a = @, b = [@, {c = @}]}",
    "key% = [ @, # one\n  [@], {d.e = @},\n]",
    'key% = """\n[[x]]\ny = 0 \\" """\n',
    "key% = '''\n]} ''\n'''",
    "[table%.'sub']",
    "[[list]]",
    "\t",
)


def numbered(statements: list[str], ending: str) -> str:
    """Return a TOML text in which every whole number that is a value is that of its line."""
    whole = "\n".join(each.replace("%", str(number)) for number, each in enumerate(statements))
    return ending.join(
        line.replace("@", str(number)) for number, line in enumerate(whole.split("\n"), 1)
    )


def numbers_in(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[Any, int]]:
    """Yield the path of every whole number."""
    if isinstance(value, int):
        yield path, value
    if isinstance(value, (dict, list)):
        inner = value.items() if isinstance(value, dict) else enumerate(value)
        for key, item in inner:
            yield from numbers_in(item, (*path, key))


@given(st.lists(st.sampled_from(STATEMENTS), max_size=12), st.sampled_from(["\n", "\r\n"]))
def test_every_value_is_found_on_the_line_it_stands_on(statements: list[str], ending: str) -> None:
    """The standard library's reader says what is where; the lines must agree with it."""
    text = numbered(statements, ending)
    locator = Locator(text)
    for path, line in numbers_in(tomllib.loads(text)):
        assert locator.line(path) == line


@given(
    st.text(max_size=200) | st.text(alphabet="[]{}=.,\"'#\n ab1\\", max_size=60),
    st.lists(st.text(max_size=3) | st.integers(0, 3), max_size=4),
)
def test_no_text_and_no_path_fails(text: str, path: list[str | int]) -> None:
    """On nonsense the answer is some line of the text."""
    assert 1 <= Locator(text).line(tuple(path)) <= text.count("\n") + 1
