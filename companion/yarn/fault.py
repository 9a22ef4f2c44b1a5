"""What is wrong with a yarn's size, a share, a weave or a package as written."""

from __future__ import annotations

from companion.base.errors import CompanionError
from companion.base.text import sentence


class YarnError(CompanionError, ValueError):
    """A text about yarn that cannot be read; fault (expected, came) and mend, no full stops."""

    def __init__(self, fault: str, mend: str) -> None:
        self.fault = fault
        self.mend = mend
        super().__init__(f"{sentence(fault)} {sentence(mend)}")
