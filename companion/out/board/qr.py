"""QR codes (ISO/IEC 18004) in a terminal and on a page."""

from io import BytesIO
from itertools import zip_longest
from typing import Final

import segno

BORDER: Final = 2
"""Modules of white around it: half of the standard's four, so that it fits a usual window."""
_WHITE, _BLACK = "\x1b[48;5;231m", "\x1b[48;5;16m"
_END: Final = "\x1b[0m"
_HALF: Final = "\x1b[38;5;{}m\x1b[48;5;{}m\u2580"
_COLOURS: Final = {True: 16, False: 231}


def terminal_lines(text: str, rows: int) -> tuple[str, ...]:
    """Return the lines of a QR code for a terminal, in black and white of its own.

    Where so many rows are too few, two modules share a line.
    """
    matrix = tuple(map(tuple, _code(text).matrix_iter(border=BORDER)))
    if len(matrix) < rows:
        return tuple(
            "".join(f"{_BLACK if dark else _WHITE}  " for dark in line) + _END for line in matrix
        )
    return tuple(
        "".join(_HALF.format(*(_COLOURS[bool(each)] for each in two)) for two in zip_longest(*pair))
        + _END
        for pair in zip_longest(matrix[::2], matrix[1::2], fillvalue=(0,) * len(matrix[0]))
    )


def svg(text: str) -> str:
    """Return a QR code as an SVG element for a page."""
    drawn = BytesIO()
    _code(text).save(drawn, kind="svg", border=4, xmldecl=False, svgns=True, omitsize=True)
    return drawn.getvalue().decode()


def _code(text: str) -> segno.QRCode:
    return segno.make_qr(text, error="m", boost_error=False)
