"""Where everything in a picture stands, in squares of the draft's grid.

The layout is that of the trade's printed books: the threading above, the tie-up in the corner
beside it, the treadling down the side, and the drawdown below the threading; a filled square of
the drawdown is warp above weft. See for example M. P. Davison, "A Handweaver's Pattern Book", 1944
(from memory). Shaft 1 is the row nearest the cloth. Beside the draft lies the cloth in its yarns'
colours, between a row of the warp's and a column of the weft's, and below it the key to them.
"""

from collections.abc import Iterator
from typing import Literal, NamedTuple

from companion.base.text import span
from companion.base.value import Value
from companion.out.picture.swatches import MARK_WORDS, Swatch, Way
from companion.out.picture.view import Cloth, PictureView
from companion.plan.draft.draft import Draft

Squares = frozenset[tuple[int, int]]
PanelName = Literal["threading", "tie-up", "treadling", "lift plan", "drawdown"]
ColoursName = Literal["cloth", "warp colours", "weft colours", "key"]
Size = Literal["title", "caption", "number"]

SIZES: dict[Size, float] = {"title": 1.6, "caption": 1.1, "number": 0.8}
"""Of type, in squares."""
LETTER_WIDTH = 0.56
"""The mean width of a letter, in sizes of the type; ours come to 0.5 to 0.55."""
EDGE = 2
"""Squares around everything."""
NUMBERS = 2
"""Squares for the numbers beside a panel."""
HEAD = 6
"""Squares for the title and a caption above."""
APART = 1
EVERY = 5
"""Ends and picks carry a number this often."""
MOST_NUMBERED = 16
"""Treadles that all carry a number; those of more would run into each other."""
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


class Crossing(NamedTuple):
    """A square in a yarn's colour."""

    column: int
    row: int
    swatch: Swatch
    way: Way
    """Which thread is above; or that the square shows the yarn's letter."""


class Colours(NamedTuple):
    """A part of the picture in the yarns' colours."""

    name: ColoursName
    cloth: int
    x: int
    y: int
    columns: int
    rows: int
    squares: tuple[Crossing, ...]


class Text(NamedTuple):
    """Words or a number; the point given is the middle of its foot, or its left end."""

    x: float
    y: float
    text: str
    is_centred: bool = True
    size: Size = "number"


class Frame(NamedTuple):
    """A box drawn round a part of a panel."""

    x: int
    y: int
    columns: int
    rows: int
    is_change: bool
    """Whether it frames an end threaded otherwise, rather than the place in the walk."""


class Layout(Value):
    """A whole picture."""

    width: int
    height: int
    panels: tuple[Panel, ...]
    colours: tuple[Colours, ...]
    texts: tuple[Text, ...]
    frames: tuple[Frame, ...]


def layout(view: PictureView) -> Layout:
    """Return a view's picture; two cloths stand side by side."""
    panels: list[Panel] = []
    colours: list[Colours] = []
    texts = [Text(EDGE, EDGE + 0.8, view.title, is_centred=False, size="title")]
    frames: list[Frame] = []
    x = EDGE
    for number, cloth in enumerate(view.cloths):
        placed = _Placed(view, cloth, number, x)
        panels += placed.panels()
        colours += placed.colours()
        texts += placed.texts()
        frames += placed.frames()
        x = placed.right + 2 * EDGE
    bottom = max(panel.y + panel.rows for panel in panels) + EDGE
    key = tuple(_key(view, bottom))
    texts += [text for _, text in key]
    colours += [square for square, _ in key]
    width = max([x - EDGE, *(EDGE + int(_right(text)) + 1 for text in texts)])
    height = bottom + (2 * len(key) + 1 if key else 0)
    return Layout(width, height, tuple(panels), tuple(colours), tuple(texts), tuple(frames))


def _right(text: Text) -> float:
    wide = len(text.text) * LETTER_WIDTH * SIZES[text.size]
    return text.x + (wide / 2 if text.is_centred else wide)


def _key(view: PictureView, top: int) -> Iterator[tuple[Colours, Text]]:
    for place, swatch in enumerate(view.shown_colours):
        y = top + 2 * place
        squares = (Crossing(0, 0, swatch, "warp"), Crossing(2, 0, swatch, "letter"))
        name = f"{swatch.title}: {MARK_WORDS[swatch.mark]}"
        told = Text(EDGE + 4, y + 0.9, name, is_centred=False, size="caption")
        yield Colours("key", 0, EDGE, y, 3, 1, squares), told


def part_shown(view: PictureView) -> str:
    """Return which of the ends and picks a picture shows, without a full stop."""
    ends = max(len(cloth.draft.shafts) for cloth in view.cloths)
    draft = view.cloths[0].draft
    picks = len(draft.moves)
    shown = span("end", view.ends[0], view.ends[-1])
    shown += f" of {ends}" if len(view.ends) < ends else ""
    if view.picks:
        shown += f", {span('pick', view.picks[0], view.picks[-1])}"
        shown += f" of {picks}" if len(view.picks) < picks else ""
    return shown


def _shafts(view: PictureView) -> int:
    """Return the rows of every threading in the picture, so that the eye can compare them."""
    drafts = [cloth.draft for cloth in view.cloths]
    held = (rows for draft in drafts for rows in (draft.shafts, *draft.treadles, *draft.lifts))
    return max(shaft for shafts in held for shaft in shafts)


class _Placed:
    """One cloth with its corner."""

    def __init__(self, view: PictureView, cloth: Cloth, number: int, x: int) -> None:
        self._view, self._cloth, self._number = view, cloth, number
        self._draft: Draft = cloth.draft
        self._shafts = _shafts(view)
        self._x = x + NUMBERS
        self._top = EDGE + HEAD
        self._foot = self._top + self._shafts + APART
        self._side = self._x + len(view.ends) + APART
        self._corner_columns = self._shafts if cloth.draft.lifts else len(cloth.draft.treadles)
        self.right = self._side + self._corner_columns + NUMBERS
        self._beside = self.right + APART
        if cloth.has_colours:
            self.right = self._beside + len(view.ends) + 2 * APART
        caption = len(self._caption()) * LETTER_WIDTH * SIZES["caption"]
        self.right = max(self.right, x + int(caption) + 1)

    def _caption(self) -> str:
        return f"{self._cloth.caption}: {part_shown(self._view)}"

    def _column(self, end: int) -> int:
        ends = self._view.ends
        return ends[-1] - end if self._view.is_first_end_right else end - ends[0]

    def _row(self, shaft: int) -> int:
        return self._shafts - shaft

    def _ends(self) -> list[int]:
        return [end for end in self._view.ends if end <= len(self._draft.shafts)]

    def panels(self) -> Iterator[Panel]:
        view, draft = self._view, self._draft
        columns = len(view.ends)
        threading = frozenset(
            (self._column(end), self._row(draft.shafts[end - 1])) for end in self._ends()
        )
        yield self._above("threading", self._x, columns, threading)
        yield from self._corner()
        cloth = self._cloth.drawdown
        if cloth is not None and view.picks:
            up = frozenset(
                (self._column(end), pick - view.picks[0])
                for pick in view.picks
                for end in self._ends()
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
        rows = draft.moves
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

    def colours(self) -> Iterator[Colours]:
        """Yield the cloth in its colours, with those of the warp above and of the weft beside."""
        if not self._cloth.has_colours:
            return
        ends, picks = self._ends(), self._view.picks
        columns, foot = len(self._view.ends), self._foot
        warp = tuple(Crossing(self._column(end), 0, self._of_end(end), "letter") for end in ends)
        weft = tuple(Crossing(0, pick - picks[0], self._of_pick(pick), "letter") for pick in picks)
        cloth = tuple(self._crossing(pick, end) for pick in picks for end in ends)
        above, beside = foot - 2 * APART, self._beside + columns + APART
        number = self._number
        yield Colours("warp colours", number, self._beside, above, columns, 1, warp)
        yield Colours("cloth", number, self._beside, foot, columns, len(picks), cloth)
        yield Colours("weft colours", number, beside, foot, 1, len(picks), weft)

    def _crossing(self, pick: int, end: int) -> Crossing:
        drawdown = self._cloth.drawdown
        is_up = drawdown is not None and drawdown.is_warp_up(pick, end)
        swatch = self._of_end(end) if is_up else self._of_pick(pick)
        row = pick - self._view.picks[0]
        return Crossing(self._column(end), row, swatch, "warp" if is_up else "weft")

    def _of_end(self, end: int) -> Swatch:
        return self._view.swatches[self._draft.colours[end - 1]]

    def _of_pick(self, pick: int) -> Swatch:
        return self._view.swatches[self._draft.weft[pick - 1]]

    def texts(self) -> Iterator[Text]:
        view = self._view
        x, y = self._x - NUMBERS, EDGE + 3.4
        yield Text(x, y, self._caption(), is_centred=False, size="caption")
        for end in self._numbered_ends():
            column = self._column(end) + 0.5
            yield Text(self._x + column, self._top - 0.4, str(end))
            if self._cloth.has_colours:
                yield Text(self._beside + column, self._foot - 2 * APART - 0.4, str(end))
        for shaft in range(1, self._shafts + 1):
            yield Text(self._x - 0.9, self._top + self._row(shaft) + 0.8, str(shaft))
        y = self._foot if self._draft.lifts else self._top
        for number in range(1, self._corner_columns + 1):
            if self._corner_columns <= MOST_NUMBERED or number == 1 or number % EVERY == 0:
                yield Text(self._side + number - 0.5, y - 0.3, str(number))
        for pick in view.picks:
            if pick % EVERY == 0 or pick == view.picks[0]:
                y = self._foot + pick - view.picks[0]
                yield Text(self._side + self._corner_columns + 1.2, y + 0.8, str(pick))

    def _numbered_ends(self) -> Iterator[int]:
        framed = {*self._view.marked, *self._view.changed}
        for end in self._view.ends:
            # A number beside a framed end's own would run into it.
            has_room = not framed & set(range(end - 2, end + 3))
            if end in framed or ((end == 1 or end % EVERY == 0) and has_room):
                yield end

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
