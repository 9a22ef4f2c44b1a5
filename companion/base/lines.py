"""Lines of text: those of a stream, each taken whole or not at all, and who is told one."""

from collections.abc import Callable, Iterator
from typing import IO, Final

MOST: Final = 500
"""Characters in a line that can be meant: one bad pipe must not fill the memory."""
TOO_LONG: Final = f"That line has more than {MOST} characters, so nothing of it was taken."

Tell = Callable[[str], None]
"""Takes one plain line for the weaver, from any thread."""


def read_lines(stream: IO[str]) -> Iterator[str | None]:
    """Yield each line without its end; None for one that is too long, its rest passed over."""
    while line := stream.readline(MOST + 1):
        is_whole = line.endswith("\n") or len(line) <= MOST
        yield line.rstrip("\n") if is_whole else None
        while not is_whole and (rest := stream.readline(MOST + 1)):
            is_whole = rest.endswith("\n")
