"""From a path of keys in a TOML text to the line where it stands.

The standard library's TOML reader does not keep lines, so this walks the tokens of the text once
more. It is written for text that has already been read as TOML; on any other text it finds less,
and never fails.
"""

import re
import tomllib
from collections.abc import Iterator
from contextlib import suppress
from typing import NamedTuple, TypeAlias

Path: TypeAlias = tuple[str | int, ...]
"""Keys and 0-based list positions from the top of the text."""

_PIECES = r"""
    (?P<string> \"{3} (?: \\. | [^\\] )*? \"{3,5} | '{3} .*? '{3,5}
        | " (?: \\. | [^"\\\n] )* " | ' [^'\n]* ' )
    | (?P<line> \n )
    | (?P<mark> [\[\]{},=.] )
    | (?P<space> [^\S\n]+ | \#[^\n]* )
    | (?P<bare> [^\s\[\]{},=.\#"']+ | . )
    """


class Token(NamedTuple):
    """A piece of TOML text."""

    kind: str
    """One of string, line, mark and bare."""
    text: str
    line: int


class Locator:
    """Finds lines in one TOML text."""

    def __init__(self, text: str) -> None:
        self._lines: dict[Path, int] = {(): 1}
        self._tables_in: dict[Path, int] = {}
        self._tokens = list(tokens(text))
        self._at = 0
        with suppress(IndexError, RecursionError):  # the end of the text, or nonsense
            self._read_file()

    def line(self, path: Path) -> int:
        """Return the 1-based line of `path`, or of the nearest thing around it."""
        known = next(path[:n] for n in range(len(path), -1, -1) if path[:n] in self._lines)
        return self._lines[known]

    def _read_file(self) -> None:
        here: Path = ()
        while True:
            token = self._take()
            if token.text == "[" and token.kind == "mark":
                here = self._read_header(token.line)
            elif token.kind != "line":
                self._at -= 1
                self._read_pair(here)

    def _read_header(self, line: int) -> Path:
        """Read [table] or [[table in a list]] after its first bracket; return its path."""
        is_list = self._tokens[self._at].text == "["
        self._at += is_list
        path: Path = ()
        keys = self._read_keys("]")
        for at, key in enumerate(keys, start=1):
            path = (*path, key)
            self._lines.setdefault(path, line)
            if is_list and at == len(keys):
                self._tables_in[path] = self._tables_in.get(path, 0) + 1
            if path in self._tables_in:
                path = (*path, self._tables_in[path] - 1)
                self._lines.setdefault(path, line)
        self._at += is_list
        return path

    def _read_pair(self, here: Path) -> None:
        """Read key = value, or a.b = value, inside the table `here`."""
        line = self._tokens[self._at].line
        path = here
        for key in self._read_keys("="):
            path = (*path, key)
            self._lines.setdefault(path, line)
        self._read_value(path)

    def _read_keys(self, end: str) -> list[str]:
        """Read the keys up to the mark `end`, or to the end of the line."""
        keys = []
        while (token := self._take()).text != end and token.kind != "line":
            if token.kind != "mark":
                keys.append(_key(token))
        return keys

    def _read_value(self, path: Path) -> None:
        token = self._take()
        if token.text == "[" and token.kind == "mark":
            self._read_list(path)
        elif token.text == "{" and token.kind == "mark":
            self._read_inline_table(path)
        else:
            while self._tokens[self._at].text not in {",", "]", "}", "\n"}:
                self._at += 1

    def _read_list(self, path: Path) -> None:
        position = 0
        while (token := self._take()).text != "]":
            if token.text == ",":
                position += 1
            elif token.kind != "line":
                self._at -= 1
                self._lines.setdefault((*path, position), token.line)
                self._read_value((*path, position))

    def _read_inline_table(self, path: Path) -> None:
        while (token := self._take()).text != "}":
            if token.text != "," and token.kind != "line":
                self._at -= 1
                self._read_pair(path)

    def _take(self) -> Token:
        token = self._tokens[self._at]
        self._at += 1
        return token


def tokens(text: str) -> Iterator[Token]:
    """Yield the tokens that matter; strings may span lines."""
    line = 1
    for match in re.finditer(_PIECES, text, re.VERBOSE | re.DOTALL):
        kind, word = match.lastgroup or "bare", match.group()
        if kind != "space":
            yield Token(kind, word, line)
        line += word.count("\n")
    yield Token("line", "\n", line)


def _key(token: Token) -> str:
    if token.kind == "string":
        with suppress(ValueError):
            return str(tomllib.loads(f"key = {token.text}")["key"])
    return token.text
