"""Where everything in a picture stands, in squares of the draft's grid.

The layout is that of the trade's printed books: the threading above, the tie-up in the corner
beside it, the treadling down the side, and the drawdown below the threading; a filled square of
the drawdown is warp above weft. See for example M. P. Davison, "A Handweaver's Pattern Book", 1944
(from memory). Shaft 1 is the row nearest the cloth.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.out.picture.view import Cloth, View
    from companion.plan.draft.draft import Draft

Squares = frozenset[tuple[int, int]]
PanelName = Literal["threading", "tie-up", "treadling", "lift plan", "drawdown"]

EDGE = 2
"""Squares around everything."""
NUMBERS = 2
"""Squares for the numbers beside a panel."""
CAPTION = 3
"""Squares for a caption above."""
APART = 1
EVERY = 5
"""Ends and picks carry a number this often."""
LEAST_WIDTH = 24
"""Squares, so that short captions have room."""
MOST_FRAMES = 8
"""Changed ends that are framed; more frames hide what they frame."""


class Panel(NamedTuple):
    """A part of the draft as a grid; columns and rows count from its upper left corner."""

    name: PanelName
    cloth: int
    """Which cloth it belongs to, from 0."""
    x: int
    y: int
    columns: int
    rows: int
    filled: Squares
    """Column and row of each filled square, from 0."""


class Text(NamedTuple):
    """Words or a number; the point given is the middle of its foot, or its left end."""

    x: float
    y: float
    text: str
    is_centred: bool = True
    is_large: bool = False


class Frame(NamedTuple):
    """A box drawn round a part of a panel."""

    x: int
    y: int
    columns: int
    rows: int
    is_change: bool
    """Whether it frames an end threaded otherwise, rather than the place in the walk."""


@dataclass(frozen=True, slots=True)
class Layout:
    """A whole picture."""

    width: int
    height: int
    panels: tuple[Panel, ...]
    texts: tuple[Text, ...]
    frames: tuple[Frame, ...]


def layout(view: View) -> Layout:
    """Return a view's picture; two cloths stand side by side."""
    panels: list[Panel] = []
    texts: list[Text] = []
    frames: list[Frame] = []
    x = EDGE
    for number, cloth in enumerate(view.cloths):
        placed = _Placed(view, cloth, number, x)
        panels += placed.panels()
        texts += placed.texts()
        frames += placed.frames()
        x = placed.right + 2 * EDGE
    bottom = max(panel.y + panel.rows for panel in panels)
    return Layout(x - EDGE, bottom + EDGE, tuple(panels), tuple(texts), tuple(frames))


def _shafts(view: View) -> int:
    """Return the rows of every threading in the picture, so that the eye can compare them."""
    drafts = [cloth.draft for cloth in view.cloths]
    moved = [
        shaft for draft in drafts for shafts in (*draft.treadles, *draft.lifts) for shaft in shafts
    ]
    return max([*(shaft for draft in drafts for shaft in draft.shafts), *moved])


class _Placed:
    """One cloth with its corner."""

    def __init__(self, view: View, cloth: Cloth, number: int, x: int) -> None:
        self._view, self._cloth, self._number = view, cloth, number
        self._draft: Draft = cloth.draft
        self._shafts = _shafts(view)
        self._x = x + NUMBERS
        self._top = EDGE + CAPTION + NUMBERS
        self._foot = self._top + self._shafts + APART
        self._side = self._x + len(view.ends) + APART
        corner = self._shafts if cloth.draft.lifts else len(cloth.draft.treadles)
        self.right = max(self._side + corner + NUMBERS, x + LEAST_WIDTH)

    def _column(self, end: int) -> int:
        ends = self._view.ends
        return ends[-1] - end if self._view.is_first_end_right else end - ends[0]

    def _row(self, shaft: int) -> int:
        return self._shafts - shaft

    def panels(self) -> Iterator[Panel]:
        view, draft = self._view, self._draft
        shown = [end for end in view.ends if end <= len(draft.shafts)]
        columns = len(view.ends)
        threading = frozenset(
            (self._column(end), self._row(draft.shafts[end - 1])) for end in shown
        )
        yield self._above("threading", self._x, columns, threading)
        yield from self._corner()
        cloth = self._cloth.drawdown
        if cloth is not None and view.picks:
            up = frozenset(
                (self._column(end), pick - view.picks[0])
                for pick in view.picks
                for end in shown
                if cloth.is_warp_up(pick, end)
            )
            yield self._below("drawdown", self._x, columns, up)

    def _above(self, name: PanelName, x: int, columns: int, filled: Squares) -> Panel:
        return Panel(name, self._number, x, self._top, columns, self._shafts, filled)

    def _below(self, name: PanelName, x: int, columns: int, filled: Squares) -> Panel:
        return Panel(name, self._number, x, self._foot, columns, len(self._view.picks), filled)

    def _corner(self) -> Iterator[Panel]:
        """Yield tie-up and treadling, or the lift plan in the treadling's place."""
        draft, picks = self._draft, self._view.picks
        rows = draft.lifts or draft.picks
        filled = frozenset(
            (number - 1, pick - picks[0]) for pick in picks for number in rows[pick - 1]
        )
        if draft.lifts:
            yield self._below("lift plan", self._side, self._shafts, filled)
            return
        treadles = len(draft.treadles)
        if treadles:
            ties = frozenset(
                (treadle, self._row(shaft))
                for treadle, shafts in enumerate(draft.treadles)
                for shaft in shafts
            )
            yield self._above("tie-up", self._side, treadles, ties)
        if picks:
            yield self._below("treadling", self._side, treadles, filled)

    def texts(self) -> Iterator[Text]:
        view = self._view
        yield Text(
            self._x - NUMBERS, EDGE + 1, self._cloth.caption, is_centred=False, is_large=True
        )
        framed = {*view.marked, *view.changed}
        for end in view.ends:
            # A number beside a framed end's own would run into it.
            has_room = not framed & set(range(end - 2, end + 3))
            if end in framed or ((end == 1 or end % EVERY == 0) and has_room):
                yield Text(self._x + self._column(end) + 0.5, self._top - 0.4, str(end))
        for shaft in range(1, self._shafts + 1):
            yield Text(self._x - 0.9, self._top + self._row(shaft) + 0.8, str(shaft))
        corner = self._shafts if self._draft.lifts else len(self._draft.treadles)
        y = self._foot if self._draft.lifts else self._top
        for column in range(corner):
            yield Text(self._side + column + 0.5, y - 0.4, str(column + 1))
        for pick in view.picks:
            if pick % EVERY == 0 or pick == view.picks[0]:
                y = self._foot + pick - view.picks[0]
                yield Text(self._side + corner + 1.0, y + 0.8, str(pick))

    def frames(self) -> Iterator[Frame]:
        changed = self._view.changed
        marks = [(end, False) for end in self._view.marked]
        marks += [(end, True) for end in changed if len(changed) <= MOST_FRAMES]
        for end, is_change in marks:
            if end in self._view.ends:
                x = self._x + self._column(end)
                yield Frame(x, self._top, 1, self._shafts, is_change)
                if self._view.picks:
                    yield Frame(x, self._foot, 1, len(self._view.picks), is_change)
