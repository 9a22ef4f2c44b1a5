"""Writing a draft as a WIF 1.1 file.

The [WIF] section is as J. R. L. Earl, "Using a WIF to Make a Drawdown by Hand" (2011), shows it;
the other sections and keys are from memory of the specification, see `companion.plan.wif.sections`.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from companion.base.text import listed
from companion.plan.draft.draft import Draft
from companion.plan.schema import PlanFile
from companion.plan.wif.colours import WORDS, shade_of
from companion.plan.wif.sections import COLOUR_NAMES

_HEADING = (
    "[WIF]",
    "Version=1.1",
    "Date=April 20, 1997",
    "Developers=wif@mhsoft.com",
    "Source Program=companion",
)
"""Date and developers are the standard's own, not the file's: the standard asks for them."""
_MOST_NAMED = 8
Lines = list[str]


def write_wif(plan: PlanFile, draft: Draft) -> str:
    """Return a plan's draft as the text of a WIF 1.1 file, thread 1 at the right edge.

    Our own reader finds the plan's colours again by their names; names of units have no place in
    the format. Encode the text as UTF-8 (plain ASCII unless a title or a colour is not).
    """
    named = _distinct((*draft.colours, *draft.weft))
    palette = {word: number for number, word in enumerate(named, 1)}
    if plan.loom.first_end == "left":
        draft = replace(draft, shafts=draft.shafts[::-1], colours=draft.colours[::-1])
    sections = dict(_sections(plan, draft, palette))
    contents = [f"{name}=true" for name in sections]
    blocks = [list(_HEADING), ["[CONTENTS]", *contents]]
    blocks += [[f"[{name}]", *lines] for name, lines in sections.items()]
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def left_unsaid(plan: PlanFile, draft: Draft) -> tuple[str, ...]:
    """Return what the format has no place for and a plan has, each as a sentence."""
    doubled, floating = plan.selvedges.doubled, plan.selvedges.floating
    named = _distinct((*draft.colours, *draft.weft))
    unknown = [colour for colour in named if colour not in WORDS]
    found = []
    if doubled:
        stand = "thread at each edge stands for two ends"
        if doubled > 1:
            stand = f"{doubled} threads at each edge stand for two ends each"
        found.append(f"The {stand}, which share one heddle.")
    if floating:
        found.append(f"Floating selvedges, {floating} at each edge, are not among the threads.")
    if unknown:
        found.append(f"Shades were made up for {listed(unknown, most=_MOST_NAMED)}.")
    return tuple(found)


def _distinct(colours: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(colour for colour in colours if colour))


def _sections(plan: PlanFile, draft: Draft, palette: dict[str, int]) -> Iterator[tuple[str, Lines]]:
    named = (draft.shafts, *draft.treadles, *draft.lifts)
    shafts = max(plan.loom.shafts, *(max(each, default=0) for each in named))
    # A lift plan stands for treadles tied one to a shaft.
    treadles = len(draft.treadles) or shafts
    is_rising = "true" if draft.is_rising_shed else "false"
    yield "TEXT", [f"Title={plan.title}"]
    notes = ("Thread 1 is at the right edge, seen from the front of the loom.",)
    yield "NOTES", _numbered((note,) for note in (*notes, *left_unsaid(plan, draft)))
    yield "WEAVING", [f"Rising Shed={is_rising}", f"Treadles={treadles}", f"Shafts={shafts}"]
    yield "WARP", [f"Threads={len(draft.shafts)}"]
    yield "WEFT", [f"Threads={len(draft.picks or draft.lifts)}"]
    if palette:
        yield "COLOR PALETTE", [f"Entries={len(palette)}", "Form=RGB", "Range=0,255"]
        shades = (shade_of(word, number) for word, number in palette.items())
        yield "COLOR TABLE", _numbered(tuple(map(round, shade)) for shade in shades)
        for name, colours in (("WARP COLORS", draft.colours), ("WEFT COLORS", draft.weft)):
            if any(colours):
                held = enumerate(colours, start=1)
                yield name, [f"{end}={palette[colour]}" for end, colour in held if colour]
        yield COLOUR_NAMES, _numbered((word,) for word in palette)
    yield "THREADING", _numbered((shaft,) for shaft in draft.shafts)
    for name, rows in (
        ("TIEUP", draft.treadles),
        ("TREADLING", draft.picks),
        ("LIFTPLAN", draft.lifts),
    ):
        if rows:
            yield name, _numbered(rows)


def _numbered(rows: Iterable[tuple[object, ...]]) -> Lines:
    """Write a row with nothing in it as 0, which is none, so that the list keeps its length."""
    return [f"{number}={','.join(map(str, row)) or 0}" for number, row in enumerate(rows, 1)]
