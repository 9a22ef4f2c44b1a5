"""Writing a draft as a WIF 1.1 file.

The [WIF] section is as J. R. L. Earl, "Using a WIF to Make a Drawdown by Hand" (2011), shows it;
the other sections and keys are from memory of WIF 1.1.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.plan.wif.colours import WORDS
from companion.plan.wif.sections import spoken

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from companion.plan.draft.draft import Draft

_STAND_IN = (128, 128, 128)
"""The shade of a colour whose word is not in our table; a comment in the file says so."""
_HEADING = (
    "[WIF]",
    "Version=1.1",
    "Date=April 20, 1997",
    "Developers=wif@mhsoft.com",
    "Source Program=companion",
)
"""Date and developers are the standard's own, not the file's: the standard asks for them."""
Lines = list[str]


def write_wif(draft: Draft, *, title: str, shafts: int) -> str:
    """Return the draft as the text of a WIF 1.1 file, thread 1 being place 1.

    Colours whose word is in `wif_colours.WORDS` keep their shade, others get a stand-in; names of
    units have no place in the format. Encode the text as UTF-8 (plain ASCII unless the title or a
    colour is not).

    Args:
        draft: the draft, with a threading.
        title: what to call it; put on one line of at most 120 characters.
        shafts: how many the loom has; more are written where the draft uses more.
    """
    palette = {word: number for number, word in enumerate(_distinct(draft.colours), 1)}
    sections = dict(_sections(draft, spoken(title), max(shafts, _highest(draft)), palette))
    contents = [f"{name}=true" for name in sections]
    blocks = [list(_HEADING), ["[CONTENTS]", *contents]]
    blocks += [[f"[{name}]", *lines] for name, lines in sections.items()]
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def _distinct(colours: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(colour for colour in colours if colour))


def _highest(draft: Draft) -> int:
    """Return the highest shaft the draft names anywhere."""
    named = (draft.shafts, *draft.treadles, *draft.lifts)
    return max((max(shafts) for shafts in named if shafts), default=0)


def _sections(
    draft: Draft, title: str, shafts: int, palette: dict[str, int]
) -> Iterator[tuple[str, Lines]]:
    # A lift plan stands for treadles tied one to a shaft.
    treadles = len(draft.treadles) or shafts
    is_rising = "true" if draft.is_rising_shed else "false"
    yield "TEXT", [f"Title={title}"]
    yield "WEAVING", [f"Rising Shed={is_rising}", f"Treadles={treadles}", f"Shafts={shafts}"]
    yield "WARP", [f"Threads={len(draft.shafts)}"]
    yield "WEFT", [f"Threads={len(draft.picks or draft.lifts)}"]
    if palette:
        yield "COLOR PALETTE", [f"Entries={len(palette)}", "Form=RGB", "Range=0,255"]
        yield "COLOR TABLE", list(_colour_table(palette))
        yield "WARP COLORS", list(_warp_colours(draft.colours, palette))
    yield "THREADING", _numbered((shaft,) for shaft in draft.shafts)
    for name, rows in (
        ("TIEUP", draft.treadles),
        ("TREADLING", draft.picks),
        ("LIFTPLAN", draft.lifts),
    ):
        if rows:
            yield name, _numbered(rows)


def _numbered(rows: Iterable[tuple[int, ...]]) -> Lines:
    """Write a row with nothing in it as 0, which is none, so that the list keeps its length."""
    return [f"{number}={','.join(map(str, row)) or 0}" for number, row in enumerate(rows, 1)]


def _colour_table(palette: dict[str, int]) -> Iterator[str]:
    for word, number in palette.items():
        if word not in WORDS:
            yield f"; {number} is {spoken(word)}; its shade here is a stand-in"
        yield f"{number}=" + ",".join(str(round(level)) for level in WORDS.get(word, _STAND_IN))


def _warp_colours(colours: Iterable[str], palette: dict[str, int]) -> Iterator[str]:
    for end, colour in enumerate(colours, 1):
        if colour:
            yield f"{end}={palette[colour]}"
