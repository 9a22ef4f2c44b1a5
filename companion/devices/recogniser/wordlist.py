"""A vocabulary in the words a model knows, and its answers back in the vocabulary's words.

A model that lacks a compound may know its parts: "siebenundvierzig" is listened for as "sieben und
vierzig". What cannot be put together from the model's words is left out and named.
"""

from collections.abc import Callable, Iterable, Mapping
from functools import cache

from companion.devices.recogniser.interface import Vocabulary

Pieces = tuple[str, ...]
"""Model words said one after another; empty where there are none."""

_MOST_PIECES = 4
_SHORTEST_PIECE = 3
"""Shorter parts are seldom said as the model says them: "undo" is not "un do"."""
_HANGUL = ("가", "힣")
"""The range of Korean syllables, each of which is a sound of its own."""


class WordList:
    """What to listen for, in words that the model knows."""

    def __init__(self, vocabulary: Vocabulary, knows: Callable[[str], bool]) -> None:
        phrases = {phrase: spell(phrase, knows) for phrase in sorted(vocabulary.phrases)}
        numbers = {number: spell(number, knows) for number in sorted(vocabulary.numbers)}
        forms = (*phrases.items(), *numbers.items())
        self.grammar = tuple(dict.fromkeys(" ".join(pieces) for _, pieces in forms if pieces))
        """What to listen for in model words, each entry once."""
        self.missing = tuple(form for form, pieces in forms if not pieces)
        """Forms that cannot be said in the model's words."""
        self._phrases = _turned(phrases)
        self._numbers = _turned(numbers)

    def form(self, heard: str) -> str:
        """Return the vocabulary's form of model words heard; "" where they are not one."""
        words = tuple(heard.split())
        return self._phrases.get(words) or " ".join(self._row(words))

    def _row(self, words: Pieces) -> Iterable[str]:
        """Return the number words that `words` are, the longest taken first; none if any is not."""
        row: list[str] = []
        while words:
            for size in range(min(len(words), _MOST_PIECES), 0, -1):
                if words[:size] in self._numbers:
                    row.append(self._numbers[words[:size]])
                    words = words[size:]
                    break
            else:
                return ()
        return row


def spell(form: str, knows: Callable[[str], bool]) -> Pieces:
    """Return the model words for a form of one or more words; empty where there are none."""
    spelt: list[str] = []
    for word in form.split():
        pieces = _pieces(word, knows)
        if not pieces:
            return ()
        spelt += pieces
    return tuple(spelt)


def _pieces(word: str, knows: Callable[[str], bool]) -> Pieces:
    """Return the fewest model words that make up the word, and of as few the most even ones."""

    @cache
    def best(rest: str) -> Pieces:
        if knows(rest):
            return (rest,)
        found: list[Pieces] = []
        for size in range(len(rest) - 1, 0, -1):
            head = rest[:size]
            if _may_stand_alone(head) and _may_stand_alone(rest[size:]) and knows(head):
                tail = best(rest[size:])
                if tail:
                    found.append((head, *tail))
        return min(found, key=lambda pieces: (len(pieces), -min(map(len, pieces))), default=())

    pieces = best(word)
    return pieces if len(pieces) <= _MOST_PIECES else ()


def _may_stand_alone(piece: str) -> bool:
    first, last = _HANGUL
    return len(piece) >= _SHORTEST_PIECE or all(first <= letter <= last for letter in piece)


def _turned(forms: Mapping[str, Pieces]) -> dict[Pieces, str]:
    """Return forms by their pieces; of two said alike the first stands."""
    turned: dict[Pieces, str] = {}
    for form, pieces in forms.items():
        if pieces:
            turned.setdefault(pieces, form)
    return turned
