"""Braille against liblouis, and the BRF read back cell by cell."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper_plans import NAMES, demo, dents_of, numbers, shafts_of

from companion.loom.threading_order import as_threaded
from companion.out.paper.braille import braille
from companion.out.paper.brf import CELLS, LINES, write_brf
from companion.out.paper.sheet import Sheet, SheetLine
from companion.out.paper.sheets import sheets

ASCII_CELLS = set(map(chr, range(0x20, 0x60)))
"""From blank to underscore: North American Braille Computer Code (from memory)."""
SAMPLES = """
Group 3, ends 17 to 24: block B b a 1+3 (1 1) it's "quoted" 2b 2B 2k b2 3,000 3.5 50% #4 a/b
ABC Abc ABcd aBC tie-up semi; colon: bang! what? café naïve Ångström señor façade Škoda Dvořák
& * = @ [x] {y} <z> ~ ^ _ | ` $5 £6 20° \u00d7 “double” \u2018single\u2019 … • — \u2013 ø æ œ ł
"""


def louis(words: list[str]) -> list[str]:
    """Return liblouis' uncontracted Unified English Braille of each word, as Braille ASCII."""
    result = subprocess.run(
        ["lou_translate", "--forward", "en-us-brf.dis,en-ueb-g1.ctb"],
        input="\n".join(words),
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return result.stdout.splitlines()


@pytest.mark.skipif(not shutil.which("lou_translate"), reason="liblouis-bin is not installed")
def test_words_are_those_of_liblouis() -> None:
    """Every word on the demo sheets, and samples of every sign, are as liblouis writes them.

    Word by word, for liblouis takes several numbers in a row as one number with spaces in it.
    """
    texts = [
        text
        for name in NAMES
        for sheet in sheets(demo(name))
        for text in (
            demo(name).title,
            *sheet.intro,
            *(sheet.label(line) for line in sheet.lines),
            *(piece for line in sheet.lines for piece in line.pieces),
        )
    ]
    words = sorted({word for text in texts for word in text.split()} | set(SAMPLES.split()))
    assert len(words) > 150
    assert dict(zip(words, map(braille, words), strict=True)) == dict(
        zip(words, louis(words), strict=True)
    )


@pytest.mark.parametrize(
    ("text", "cells"),
    [
        ("37", "#CG"),
        ("1 2 3 4", "#A #B #C #D"),
        ("10", "#AJ"),
        ("End 1:", ",END #A3"),
        ("4b", "#D;B"),
        ("4m", "#DM"),
        ("HTML", ",,HTML"),
    ],
)
def test_examples_of_the_rules(text: str, cells: str) -> None:
    """Numbers, capitals and the grade 1 sign as the Rules of UEB have them (from memory)."""
    assert braille(text) == cells


@given(st.text(max_size=30).filter(lambda text: text == " ".join(text.split())))
def test_any_text_becomes_cells(text: str) -> None:
    """Whatever a plan calls itself, only cells come out."""
    assert set(braille(text)) <= ASCII_CELLS


def read_brf(text: str) -> dict[str, list[str]]:
    """Return the lines of each sheet, continuations joined to what they continue."""
    found: dict[str, list[str]] = {}
    for page in text.split("\f")[:-1]:
        head, _, *rows = page.split("\r\n")[: LINES - 1]
        lines = found.setdefault(head.strip().split("3 ")[0], [])
        for row in rows:
            if row.startswith("  "):
                lines[-1] += "  " + row.strip()
            else:
                lines.append(row)
    return {
        name: [line for line in lines if re.match(r"#[A-J]+[13] ", line + " ")]
        for name, lines in found.items()
    }


def printed(line: str) -> str:
    """Return a line's content with its numbers in print, its label left out."""
    content = line.partition("3  ")[2]
    digits = str.maketrans("ABCDEFGHIJ", "1234567890")
    return re.sub(r"#([A-J]+)", lambda cells: cells[1].translate(digits), content)


@pytest.mark.parametrize("name", NAMES)
def test_every_end_and_dent_is_in_the_brf(name: str) -> None:
    """Decoded digit by digit, the file gives shafts and dents end by end."""
    dressing = demo(name)
    lines = read_brf(write_brf(dressing.title, sheets(dressing)))
    threading = [n for line in lines[",THREADING"] for n in numbers_of(printed(line))]
    assert threading == shafts_of(dressing)
    sleying = "  ".join(map(printed, lines[",SLEYING"])).replace("FLOATING SELVEDGE", "1")
    assert numbers_of(sleying) == dents_of(dressing)
    assert len(lines[",THREADING"]) == len(as_threaded(dressing).groups)


def numbers_of(text: str) -> list[int]:
    """Return the numbers, without headings (in braille a colon is the cell of 3) or brackets."""
    plain = text.replace('"<', " ").replace('">', " ")
    return numbers(re.sub(r"BEAM \d3|[A-Z][A-Z ]*3", "", plain))


@pytest.mark.parametrize("name", NAMES)
def test_pages_are_forty_cells_by_twenty_five_lines(name: str) -> None:
    """Lines end with CR LF, pages with a form feed, and page numbers stand at the lower right."""
    dressing = demo(name)
    text = write_brf(dressing.title, sheets(dressing))
    assert text.endswith("\r\n\f")
    assert set(text) <= ASCII_CELLS | set("\r\n\f")
    for number, page in enumerate(text.split("\f")[:-1], start=1):
        rows = page.split("\r\n")
        assert rows.pop() == ""
        assert len(rows) == LINES
        assert max(map(len, rows)) <= CELLS
        assert rows[-1] == braille(str(number)).rjust(CELLS)


def test_a_group_begins_a_line_and_goes_on_indented() -> None:
    """The finger finds a group in cell 1 and what continues it in cell 3."""
    line = SheetLine(3, (17, 40), ("1 2 3 4",) * 6)
    sheet = Sheet("threading", "group", "end", "shafts", (), (line,))
    rows = write_brf("Band", [sheet]).split("\r\n")
    assert rows[:2] == [",THREADING3 ,BAND".center(CELLS).rstrip(), ""]
    assert rows[5:9] == [
        "#C1 ENDS #AG TO #DJ3  #A #B #C #D",
        "  #A #B #C #D  #A #B #C #D  #A #B #C #D",
        "  #A #B #C #D  #A #B #C #D",
        "",
    ]


@given(
    st.lists(st.text(min_size=1, max_size=90), min_size=1, max_size=4),
    st.integers(1, 40),
)
def test_no_name_breaks_the_page(names: list[str], times: int) -> None:
    """Words longer than a line, and groups longer than a page, stay within 40 by 25."""
    content = tuple(" ".join(name.split()) or "x" for name in names) * times
    sheet = Sheet("threading", "group", "end", "shafts", (), (SheetLine(1, (1, 2), content),))
    for page in write_brf(" ".join(names[0].split()), [sheet]).split("\f")[:-1]:
        rows = page.split("\r\n")[:-1]
        assert len(rows) == LINES
        assert max(map(len, rows)) <= CELLS
