"""Text from outside made fit for a terminal, a page, a voice and a spreadsheet."""

import json
import re
from typing import Any, Final

_SEQUENCE: Final = re.compile(
    r"(?:\x1b\[|\x9b)[0-?]*[ -/]*[@-~]|(?:\x1b\]|\x9d)[^\x07\x1b\x9c]*(?:\x07|\x1b\\|\x9c)?"
)
"""A terminal's control sequences (ECMA-48, 5.4) and command strings (5.6)."""
_SPACES: Final = r"[\t-\r\x85\u2028\u2029]+"
_UNSEEN: Final = re.compile(
    "[\0-\x08\x0e-\x1f\x7f-\x84\x86-\x9f\u061c\u200e\u200f\u202a-\u202e\u2060-\u206f\ufeff"
    "\ufff9-\ufffb\U000e0000-\U000e007f]"
)
"""Controls, what turns the direction of writing (Unicode Standard Annex 9, table 4) and invisible
marks. Joiners stay: some scripts need them."""
_ESCAPED: Final = re.compile(r"\\(?:u(?:00|061c|20|d[89a-f]|db4|fe|ff)|[bfnrt])", re.IGNORECASE)
"""What JSON may hide any of these in."""
_FORMULA: Final = ("=", "+", "-", "@")


def clean_text(text: str) -> str:
    """Return text without what acts instead of being read; lines stay, what was no UTF-8 is "?"."""
    if text.isprintable():
        return text
    whole = text.encode("utf-8", "replace").decode()
    return _UNSEEN.sub("", _SEQUENCE.sub("", whole))


def clean_line(text: str) -> str:
    """Return text as `clean_text` does, on one line and without spaces around it."""
    if not text.isprintable():
        text = re.sub(_SPACES, " ", clean_text(text))
    return text.strip()


def clean_tree(value: Any) -> Any:
    """Return what was read from TOML or JSON with every text in it cleaned, keys too."""
    if isinstance(value, str):
        return clean_text(value)
    if isinstance(value, dict):
        return {clean_text(str(key)): clean_tree(each) for key, each in value.items()}
    if isinstance(value, list):
        return [clean_tree(each) for each in value]
    return value


def clean_json(text: str) -> str:
    """Return JSON with every text in it cleaned; raise ValueError for what is no JSON."""
    if text.isprintable() and not _ESCAPED.search(text):
        return text
    try:
        return json.dumps(clean_tree(json.loads(text)), ensure_ascii=False, separators=(",", ":"))
    except RecursionError:
        raise ValueError("it is nested too deeply") from None


def cell(text: str) -> str:
    """Return text for a spreadsheet's cell: what would be taken for a formula is shown as text."""
    return f"'{text}" if text.lstrip().startswith(_FORMULA) else text
