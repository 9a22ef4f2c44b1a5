"""Every phrase that is a command, for tests that try them all."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from companion.base.numerals import LARGEST, number_forms
from companion.command.words import FORMS

if TYPE_CHECKING:
    from collections.abc import Iterator


def phrases(language: str = "en", largest: int = LARGEST) -> Iterator[str]:
    """Yield them, with numbers from 0 to `largest` as words; free reasons are left out."""
    for text in (text for texts in FORMS[language].values() for text in texts):
        hole = re.search(r"\{(\w+)\}", text)
        if hole is None:
            yield text
        elif hole[1] != "reason":
            for number in range(largest + 1):
                for words in number_forms(number, language):
                    yield text.replace(hole[0], words)
