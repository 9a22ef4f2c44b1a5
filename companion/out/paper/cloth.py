"""The picture of a plan's draft and cloth, for the sheets as a page."""

from typing import NamedTuple

from companion.loom.dressing import Dressing
from companion.out.picture.layout import layout
from companion.out.picture.svg import write_svg
from companion.out.picture.view import view
from companion.out.picture.words import words


class ClothPicture(NamedTuple):
    """A drawing and the same in words."""

    svg: str
    """Without the declaration of XML, to stand in a page."""
    words: tuple[str, ...]


def cloth_picture(dressing: Dressing) -> ClothPicture | None:
    """Return the draft and its cloth in colour; None where the plan does not say what is woven."""
    if not dressing.draft.moves:
        return None
    shown = view(dressing)
    told = words(shown)
    svg = write_svg(dressing.title, told[:1], layout(shown))
    return ClothPicture(svg[svg.index("<svg") :], told)
