"""The tree of a tagged PDF: what each piece of text on a page is, for a screen reader.

The structure types and marked content are those of ISO 32000-1:2008, sections 14.6 to 14.8. fpdf2
writes such a tree for pictures only; its own classes are used here for headings, paragraphs and
tables too, and they are not part of its promised interface: the lock names the release.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from fpdf import FPDF

Role = Literal["H1", "H2", "P", "Table", "TR", "TH", "TD", "Figure"]
Scope = Literal["Column", "Row"]


class Tree:
    """The tree of one document, filled as its pages are printed."""

    def __init__(self, pdf: FPDF) -> None:
        self._pdf: Any = pdf
        self._builder, self._element = _classes()
        pdf.struct_builder = self._builder
        pdf._set_min_pdf_version("1.7")  # noqa: SLF001 - see above
        self._pieces: Counter[int] = Counter()

    def add(
        self, kind: Role, parent: Any = None, *, scope: Scope | None = None, alt: str = ""
    ) -> Any:
        """Return a new element below another, or below the document."""
        above = parent or self._builder.doc_struct_elem
        element = self._element(f"/{kind}", above, [], self._pdf.page, alt=alt or None)
        element.a = f"<</O /Table /Scope /{scope}>>" if scope else None
        above.k.append(element)
        if parent is not None:
            self._builder.inner.append(element)
        return element

    @contextmanager
    def content(self, element: Any) -> Iterator[None]:
        """Give what is printed meanwhile to an element; all of one element is on one page."""
        pdf = self._pdf
        page, number = pdf.pages[pdf.page], self._pieces[pdf.page]
        self._pieces[pdf.page] += 1
        pages = self._builder.spid_per_page_number
        page.struct_parents = pages.setdefault(pdf.page, len(pages))
        self._builder.struct_tree_root.parent_tree.nums[page.struct_parents].append(element)
        element.k.append(number)
        element.pg = page
        pdf._out(f"{element.s} <</MCID {number}>> BDC")  # noqa: SLF001 - see above
        yield
        pdf._out("EMC")  # noqa: SLF001 - see above

    @contextmanager
    def artifact(self) -> Iterator[None]:
        """Mark what is printed meanwhile as nothing to read: rules, check boxes, running heads."""
        self._pdf._out("/Artifact BMC")  # noqa: SLF001 - see above
        yield
        self._pdf._out("EMC")  # noqa: SLF001 - see above


def _classes() -> tuple[Any, Any]:
    """Return a builder of trees that have branches, and the class of their elements."""
    from fpdf.structure_tree import (  # noqa: PLC0415 - slow to load, and only wanted for print
        StructElem,
        StructureTreeBuilder,
    )

    class Element(StructElem):
        __slots__ = ("a",)

    class Builder(StructureTreeBuilder):
        def __init__(self) -> None:
            super().__init__()
            self.inner: list[StructElem] = []

        def __iter__(self) -> Iterator[Any]:
            yield from super().__iter__()
            yield from self.inner

    return Builder(), Element
