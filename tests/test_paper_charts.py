"""Charts, cautions and tags of the printed sheets, read back from what was made."""

from __future__ import annotations

import re
import shutil
import subprocess
from html import escape
from io import BytesIO
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper_plans import NAMES, demo, numbers, sheet_of
from pypdf import PdfReader

from companion.job import Danger, stage
from companion.job.job import whole_job
from companion.out.paper.braille import braille
from companion.out.paper.brf import write_brf
from companion.out.paper.chart import Band, Chart, Segment, placed
from companion.out.paper.charts import heddle_chart, progress_chart, reed_chart, warp_chart
from companion.out.paper.html_sheet import write_html
from companion.out.paper.pdf import write_pdf
from companion.out.paper.sheets import sheets
from companion.out.picture.swatches import BLACK, swatches
from companion.wording.cautions import DANGERS
from companion.wording.warp_facts import colours_in_order, warp_facts

if TYPE_CHECKING:
    from pathlib import Path

    from companion.out.paper.sheet import SheetName


def plain(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", NAMES)
def test_the_reed_strip_is_the_whole_reed(name: str) -> None:
    """Its parts come to every dent of the reed, end 1 on its own side."""
    dressing = demo(name)
    chart = reed_chart(dressing)
    (band,) = chart.bands
    sizes = [segment.size for segment in band.segments]
    assert sum(sizes) == chart.size == dressing.sley.reed_dents
    near = sizes[-1] if dressing.first_end == "right" else sizes[0]
    if dressing.sley.empty_before:
        assert near == dressing.sley.empty_before
    told = [int(number) for number in re.findall(r"(\d+) dents? ", chart.words)]
    assert sum(told) == dressing.sley.reed_dents


def test_the_reed_strip_of_the_towels() -> None:
    """By hand: 320 dents, 200 used; stripes of 36, 12, 24 ends lie in 24, 8, 16 dents."""
    chart = reed_chart(demo("striped-towels"))
    used = ["24 dents white", *["8 dents blue", "16 dents white"] * 6, "8 dents blue"]
    wanted = ", ".join(["60 dents empty", *used, "24 dents white", "60 dents empty"])
    assert f": {wanted}. In the strip W is white, B is blue." in chart.words
    assert [text for _, text in chart.bands[0].marks] == ["1", "320", "61", "260"]


def test_the_warp_strip_is_every_end_in_winding_order() -> None:
    """Each stripe is as long as its ends, turned about as the warp lies on the loom."""
    dressing = demo("striped-towels")
    chart = warp_chart(dressing)
    assert chart is not None
    runs = [len(list(run)) for _, run in groupby(end.colour for end in dressing.ends)]
    assert [each.size for each in chart.bands[0].segments] == runs[::-1]
    assert warp_chart(demo("first-try")) is None


@pytest.mark.parametrize("name", NAMES)
def test_bars_are_as_long_as_their_heddles(name: str) -> None:
    """The front shaft is lowest; each bar is divided where the centre of the warp is."""
    dressing = demo(name)
    chart = heddle_chart(dressing)
    order = dressing.heddles[::-1] if dressing.shaft_one == "front" else dressing.heddles
    assert [int(band.name) for band in chart.bands] == [row.shaft for row in order]
    centres = set()
    for band, row in zip(chart.bands, order, strict=True):
        held = [each.size for each in band.segments if not each.is_gap]
        assert sum(held) == row.needed
        gap = sum(each.size for each in band.segments if each.is_gap)
        far = row.after_centre if dressing.first_end == "right" else row.before_centre
        if row.needed:
            centres.add(gap + far)
    assert len(centres) == 1


def test_progress_has_a_box_for_every_group() -> None:
    """In order, with the last end of each below it."""
    walked = stage(demo("striped-towels"), "thread")
    chart = progress_chart(walked)
    assert chart is not None
    boxes = [each.text for band in chart.bands for each in band.segments]
    assert boxes == [str(group.number) for group in walked.groups]
    lasts = [text for band in chart.bands for _, text in band.marks]
    assert lasts == [str(group.last) for group in demo("striped-towels").groups]


@given(
    st.lists(st.integers(1, 60), min_size=1, max_size=30),
    st.sampled_from([18.0, 24.0, 32.0]),
)
def test_charts_stay_on_the_paper(sizes: list[int], points: float) -> None:
    """Boxes lie side by side over the whole width; no number runs into another or off the edge."""
    yarn = swatches(["white", "blue"])["blue"]
    segments = tuple(Segment(size, str(size), yarn) for size in sizes)
    edges = [sum(sizes[:at]) for at in range(len(sizes) + 1)]
    marks = tuple((at, str(at)) for at in edges)
    chart = Chart("x", "x", sum(sizes), (Band(segments, "8", marks),))
    put = placed(chart, chart.bands[0], 487.0, points, lambda text: len(text) * points * 0.6)
    assert put.boxes[-1].x + put.boxes[-1].width == pytest.approx(487)
    for one, other in pairwise(put.boxes):
        assert one.x + one.width == pytest.approx(other.x)
    beneath = [word for word in put.words if word.y > put.boxes[0].height]
    assert beneath
    spans = sorted((w.x - len(w.text) * points * 0.3, len(w.text) * points * 0.6) for w in beneath)
    assert spans[0][0] >= -0.01
    assert sum(spans[-1]) <= 487.01
    assert all(low + wide < high for (low, wide), (high, _) in pairwise(spans))


@pytest.mark.parametrize("name", NAMES)
def test_print_and_braille_carry_every_caution(name: str) -> None:
    """What may hurt in any stage of the job is in the PDF, the page and the braille alike."""
    dressing = demo(name)
    made = sheets(dressing)
    found = (stage(dressing, each).danger for each in whole_job(dressing))
    dangers = {danger for danger in found if danger is not None}
    assert dangers & {Danger.LOADED_BEAM, Danger.SECTIONS}
    pdf = PdfReader(BytesIO(write_pdf(dressing.title, made)))
    # Without the running heads and feet.
    rows = [row for each in pdf.pages for row in each.extract_text().splitlines()[2:-1]]
    printed = plain(" ".join(rows))
    cells = write_brf(dressing.title, made).split("\f")
    embossed = plain(" ".join(row for each in cells for row in each.splitlines()[2:-1]))
    page = write_html(dressing.title, made)
    for danger in dangers:
        caution = DANGERS[danger]
        assert caution in printed
        assert braille(caution) in embossed
        assert escape(caution) in page
    assert "do not replace the advice of a professional" in printed


def test_cautions_stand_on_the_sheets_of_their_moments() -> None:
    """Winding, heddles, tie-up and treadling begin with their own."""
    made = sheets(demo("striped-towels"))
    moments: dict[SheetName, Danger] = {
        "winding": Danger.WARP_LOOPS,
        "heddles": Danger.LIFTING,
        "tie-up": Danger.UNDER_SHAFTS,
        "treadling": Danger.TREADLES,
    }
    for sheet, danger in moments.items():
        assert sheet_of(made, sheet).cautions == (DANGERS[danger],)


def test_facts_of_the_towels() -> None:
    """By hand from the plan; length, yarn and turns are those that their own tests check."""
    facts = {fact.name: fact.parts for fact in warp_facts(demo("striped-towels"))}
    assert facts["Length"] == ("189 in, which is 5 1/4 yd",)
    assert facts["Ends"] == ("300 in heddles", "216 white", "84 blue")
    assert facts["Winding order"] == (
        "36 white,", "6 times (12 blue, 24 white),", "12 blue,", "36 white",
    )  # fmt: skip
    assert facts["Raddle"] == ("50 sections of 6 ends", "(15 empty before, 15 after)")
    assert facts["Tying on"] == ("25 bouts of 12 ends",)
    assert [part.partition(":")[0] for part in facts["Yarn"]] == [
        "warp white 3/2 cotton", "warp blue 3/2 cotton", "weft white 3/2 cotton",
    ]  # fmt: skip


@given(st.lists(st.sampled_from(["a", "b", "c"]), min_size=1, max_size=60))
def test_the_order_told_is_the_order_wound(colours: list[str]) -> None:
    """Written out again, repeats and all, it gives every end."""
    found: list[str] = []
    for part in colours_in_order(colours):
        match = re.fullmatch(r"(?:(\d+) times )?\(?(.*?)\)?,?", part)
        assert match is not None
        times, turn = match.groups()
        runs = [run.split() for run in turn.split(", ")]
        found += [name for number, name in runs for _ in range(int(number))] * int(times or 1)
    assert found == colours


def _tree(node: Any, depth: int = 0) -> list[tuple[int, str]]:
    node = node.get_object()
    found = [(depth, str(node["/S"]))] if "/S" in node else []
    kids = node.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        if not isinstance(kid, int):
            found += _tree(kid, depth + 1)
    return found


def test_the_pdf_is_tagged() -> None:
    """ISO 32000-1:2008, 14.8: marked, with its language, and a tree of headings and tables."""
    made = sheets(demo("striped-towels"))
    pdf = PdfReader(BytesIO(write_pdf("Title", made)))
    root: Any = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    kinds = [kind for _, kind in _tree(root["/StructTreeRoot"])]
    assert kinds.count("/H1") == 1
    assert kinds.count("/H2") == len(made)
    assert kinds.count("/Table") == len([sheet for sheet in made if sheet.lines])
    assert kinds.count("/TR") == sum(len(s.lines) + 1 for s in made if s.lines)
    assert kinds.count("/Figure") == len([chart for sheet in made for chart in sheet.charts])


def test_each_piece_of_text_belongs_to_the_tree_or_is_an_artifact() -> None:
    """On every page the numbers of marked content run from 0, and the tree knows each of them."""
    pdf = PdfReader(BytesIO(write_pdf("Title", sheets(demo("point-runner")))))
    root: Any = pdf.trailer["/Root"]
    numbered = root["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    parents = dict(zip(numbered[::2], numbered[1::2], strict=True))
    for page in pdf.pages:
        content = page.get_contents()
        assert content is not None
        data = content.get_data().decode("latin-1")
        marks = [int(mark) for mark in re.findall(r"/MCID (\d+)", data)]
        assert marks == list(range(len(parents[page["/StructParents"]])))
        assert data.count("BDC") + data.count("BMC") == data.count("EMC")
        outside = re.sub(r"(BDC|BMC).*?EMC", "", data, flags=re.DOTALL)
        assert "Tj" not in outside
        assert "TJ" not in outside


@pytest.mark.skipif(not shutil.which("pdfinfo"), reason="poppler-utils is not installed")
def test_a_reader_of_tags_finds_rows_under_their_heads(tmp_path: Path) -> None:
    """As poppler reads the tree: column heads first, then each group with its shafts."""
    (tmp_path / "a.pdf").write_bytes(write_pdf("Title", sheets(demo("first-try"))))
    read = subprocess.run(
        ["pdfinfo", "-struct-text", tmp_path / "a.pdf"],
        check=True, capture_output=True, text=True, timeout=60,
    ).stdout  # fmt: skip
    threading = read.partition('"Threading: ')[2].partition("H2")[0]
    cells = re.findall(r'^ +"(.*)"$', threading.partition("Table")[2], re.MULTILINE)
    assert cells[:3] == ["Group", "Ends", "Shafts"]
    assert cells[3:5] == ["1", "1 to 8"]
    assert numbers(cells[5]) == [1, 2, 3, 4, 1, 2, 3, 4]


def test_drawings_of_the_page_have_names_and_words() -> None:
    """Each is an image with a name, and its words stand below it; the ink on yarn stands out."""
    page = write_html("x", sheets(demo("striped-towels")))
    drawn = re.findall(r'<svg class="chart" role="img" aria-label="([^"]+)"', page)
    assert drawn == ["The warp", "The heddles", "Progress", "The reed"]
    assert page.count("<figcaption>") == len(drawn)
    assert "In the strip W is white, B is blue." in page
    assert BLACK in page
