"""The HTML sheets read back, and the marks by which a screen reader finds its way."""

from __future__ import annotations

import re
from html import escape
from html.parser import HTMLParser

import pytest
from paper_plans import NAMES, bracketed, demo, dents_of, doubled_of, numbers, shafts_of
from small_plans import make_plan, straight

from companion.loom.compute import compute
from companion.out.paper.cloth import cloth_picture
from companion.out.paper.html_sheet import write_html
from companion.out.paper.sheets import sheets

VOID = frozenset({"meta", "input"})


class Page(HTMLParser):
    """Collects elements, and for each section the labels and contents of its lines."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.section = ""
        self.labels: dict[str, list[str]] = {}
        self.contents: dict[str, str] = {}
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.tags.append((tag, given))
        if tag not in VOID:
            self.open.append(tag)
        if tag == "section":
            self.section = given["id"] or ""
            self.labels[self.section], self.contents[self.section] = [], ""

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag, "elements close in the order they opened"

    def handle_data(self, data: str) -> None:
        if self.open[-1:] == ["strong"]:
            self.labels[self.section].append(data)
        elif "label" in self.open and self.section:
            self.contents[self.section] += f"{data} "

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [given for each, given in self.tags if each == tag]


def page_of(name: str) -> Page:
    return Page(write_html(demo(name).title, sheets(demo(name))))


@pytest.mark.parametrize("name", NAMES)
def test_every_end_and_dent_is_on_the_page(name: str) -> None:
    """Parsed by Python's own parser, the page gives shafts and dents end by end."""
    dressing, page = demo(name), page_of(name)
    assert page.open == []
    assert numbers(page.contents["threading"]) == shafts_of(dressing)
    assert bracketed(page.contents["threading"]) == doubled_of(dressing)
    sleying = page.contents["sleying"].replace("floating selvedge", "1")
    assert numbers(sleying) == dents_of(dressing)


def test_marks_for_screen_readers() -> None:
    """Language, one first heading, a named section each, and a label on every check box."""
    page = page_of("lattice-scarf")
    assert page.named("html") == [{"lang": "en"}]
    assert len(page.named("h1")) == len(page.named("main")) == 1
    headings = {given["id"] for given in page.named("h2")}
    assert {given["aria-labelledby"] for given in page.named("section")} == headings
    boxes = page.named("input")
    assert len(boxes) == len(page.named("label")) == sum(map(len, page.labels.values()))
    assert all(given == {"type": "checkbox"} for given in boxes)
    assert page.labels["threading"][0] == "Group 1, ends 1 to 15:"
    assert page.labels["threading"][-1] == "Group 5, end 61:"


def test_links_lead_to_the_sheets() -> None:
    """The list at the top leads to every sheet on the page."""
    page = page_of("first-try")
    assert [given["href"] for given in page.named("a")] == [f"#{name}" for name in page.contents]


def test_nothing_is_fetched_or_run() -> None:
    """No script, picture, style sheet or address outside the page."""
    page = page_of("first-try")
    assert not {tag for tag, _ in page.tags} & {"script", "link", "img", "iframe", "object"}
    text = write_html("x", sheets(demo("first-try")))
    assert not re.search(r"https?:|url\(|@import", text)


def test_names_are_text_and_never_markup() -> None:
    """A plan may call itself what it likes."""
    title = '<script>alert("&")</script>'
    page = Page(write_html(title, ()))
    assert not page.named("script")
    assert "&lt;script&gt;" in write_html(title, ())


def test_the_cloth_stands_on_the_page_with_its_words() -> None:
    """Drawn in the page itself, in the yarns' colours, named for a screen reader and told below;
    a plan that is not woven has none."""
    dressing = demo("lattice-scarf")
    cloth = cloth_picture(dressing)
    assert cloth is not None
    page = write_html(dressing.title, sheets(dressing), cloth=cloth)
    section = page[page.index('<section id="cloth"') :]
    assert "<svg xmlns" in section
    assert 'aria-labelledby="picture-title"' in section
    assert all(f"<p>{escape(line)}</p>" in section for line in cloth.words)
    assert '<a href="#cloth">Cloth</a>' in page
    assert cloth_picture(compute(make_plan(straight(8)))) is None


def test_a_page_may_have_its_style_elsewhere() -> None:
    """Where a server forbids what stands in the page itself."""
    page = write_html("x", (), style="/sheets.css")
    assert "<style" not in page
    assert '<link rel="stylesheet" href="/sheets.css">' in page
