"""Slips in TOML that people make, each answered by what to write instead, which then is TOML."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.plan.file.slips import slip_in
from companion.plan.file.toml import TomlError, read_toml


def told(line: str) -> tuple[str, str]:
    """Return the fault and the mend of a line in a plan."""
    with pytest.raises(TomlError) as caught:
        read_toml(f'title = "Scarf"\n{line}\n')
    problem = caught.value.problem
    assert problem.line >= 2
    return problem.fault, problem.mend


@pytest.mark.parametrize(
    ("line", "fault", "mend"),
    [
        (
            "width = 16,5",
            "expected a number with a point, and this has a comma",
            "Write width = 16.5",
        ),
        (
            "ends = 1,200",
            "expected a number with a point, and this has a comma",
            "Write ends = 1.200, or without the comma ends = 1200",
        ),
        (
            "ends = 1-2-3-4",
            "expected a row of numbers in quotation marks",
            'Write ends = "1-2-3-4"',
        ),
        (
            "ends = 1 to 4, 3 to 2  # a point",
            "expected a row of numbers in quotation marks",
            'Write ends = "1 to 4, 3 to 2"',
        ),
        (
            "shafts = twenty four",
            "expected a number in digits, not twenty four",
            "Write shafts = 24",
        ),
        ("name = Seven", "expected Seven in quotation marks", 'Write name = "Seven"'),
        (
            "ends per inch = 8",
            "expected one word before the equals sign, not ends per inch",
            "Write ends_per_inch = 8",
        ),
        (
            "name = \u201cTowels\u201d",
            "expected straight quotation marks, and these are curly ones",
            'Type them plainly, as in name = "Towels"',
        ),
        (
            "name = \u201eTowels\u201c",
            "expected straight quotation marks, and these are curly ones",
            'Type them plainly, as in name = "Towels"',
        ),
        (
            'treadles = ["1-2" "2-3"]',
            'expected a comma before "2-3"',
            "Part the things in a list by commas",
        ),
        (
            'treadles = [\n"1-2",\n"2-3"\n"3-4"\n]',
            'expected a comma before "3-4"',
            "Part the things in a list by commas",
        ),
        (
            "heddles = [60 60 60 60]",
            "expected a comma before 60",
            "Part the things in a list by commas",
        ),
        (
            'parts = [{ends = "1" times = 2}]',
            "expected a comma before times",
            "Part the things in a list by commas",
        ),
        ("kind = jack", "expected jack in quotation marks", 'Write kind = "jack"'),
        (
            "method = back-to-front # mine",
            "expected back-to-front in quotation marks",
            'Write method = "back-to-front"',
        ),
        ("width = 36 in", "expected a number alone, and in comes after it", "Write width = 36"),
        ('width = 36"', 'expected a number alone, and " comes after it', "Write width = 36"),
        (
            "width = 16 1/2",
            "expected a fraction in quotation marks",
            'Write width = "16 1/2"',
        ),
        (
            "take_up = 10 %",
            "expected a share in quotation marks",
            'Write take_up = "10 %"',
        ),
        ("ends: 300", "expected an equals sign after ends", "Write ends = 300"),
        ("ends 300", "expected an equals sign after ends", "Write ends = 300"),
        (
            "ends = 300;",
            "expected nothing after the value, and there is ;",
            "Write ends = 300",
        ),
        (
            'kind = "jack",',
            "expected nothing after the value, and there is ,",
            'Write kind = "jack"',
        ),
    ],
)
def test_a_usual_slip_is_told_with_what_to_write(line: str, fault: str, mend: str) -> None:
    """The mend is for this line, not for TOML in general, and it is TOML."""
    assert told(line) == (fault, mend)
    for written in re.findall(r'\b(?:Write|in|comma) (\w+ = (?:"[^"]*"|[\d.]+))', mend):
        assert read_toml(written.rstrip("."))


@pytest.mark.parametrize("line", ["[warp", 'name = "weaver\u2019s\n', "= 3", "width = 5."])
def test_what_is_not_a_usual_slip_is_told_as_before(line: str) -> None:
    """A curly apostrophe inside straight quotes is no slip, nor is every other fault."""
    fault, _ = told(line)
    assert fault.startswith("expected TOML, which stops here")


def test_right_lines_are_read() -> None:
    """Nothing that is TOML is held for a slip."""
    text = 'name = "weaver\u2019s"\nwidth = 16.5\nlist = [1, 2]\nshare = "10 %"'
    assert read_toml(text)["name"] == "weaver\u2019s"


@given(st.text(max_size=60), st.integers(0, 70), st.booleans())
def test_any_line_is_told_as_one_line(line: str, at: int, is_in_list: bool) -> None:  # noqa: FBT001
    """Whatever is written, the answer is printable and of one line."""
    found = slip_in(line.replace("\n", " "), at, is_in_list=is_in_list)
    if found is not None:
        assert found.fault.startswith("expected ")
        assert (found.fault + found.mend).isprintable()
