"""A vocabulary is said in a model's words, and answers come back in the vocabulary's own."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from phrases import phrases

from companion.base.numerals import number_forms
from companion.command import LANGUAGES
from companion.devices.recogniser.decoys import decoys
from companion.devices.recogniser.interface import Vocabulary
from companion.devices.recogniser.wordlist import WordList, spell


def _list(phrases: set[str], numbers: set[str], model: set[str]) -> WordList:
    return WordList(Vocabulary(frozenset(phrases), frozenset(numbers)), model.__contains__)


def test_words_the_model_has_stay_as_they_are() -> None:
    """A phrase of known words is listened for as it is and comes back as it is."""
    words = _list({"read back", "stop"}, {"two"}, {"read", "back", "stop", "two"})
    assert words.grammar == ("read back", "stop", "two")
    assert words.missing == ()
    assert [words.form(text) for text in ("read back", "stop", "two two")] == [
        "read back",
        "stop",
        "two two",
    ]


@pytest.mark.parametrize(
    ("word", "model", "pieces"),
    [
        ("siebenundvierzig", {"sieben", "und", "vierzig"}, ("sieben", "und", "vierzig")),
        ("siebenundvierzig", {"sieben", "und", "vierzig", "siebenund"}, ("siebenund", "vierzig")),
        ("실수했어", {"실수", "실수했", "어", "했어"}, ("실수", "했어")),
        ("삼십이", {"삼십", "이", "삼", "십이"}, ("삼십", "이")),
        ("undo", {"un", "do"}, ()),
        ("rückgängig", {"rück", "gäng"}, ()),
    ],
)
def test_a_compound_is_said_in_the_fewest_and_most_even_parts(
    word: str, model: set[str], pieces: tuple[str, ...]
) -> None:
    """Parts of one or two letters are not taken, but a Korean syllable is a part."""
    assert spell(word, model.__contains__) == pieces


def test_parts_heard_come_back_whole() -> None:
    """Numbers put together from parts are rows of the vocabulary's own number words."""
    model = {"sieben", "und", "vierzig", "drei"}
    words = _list(set(), {"siebenundvierzig", "sieben", "drei", "vierzig"}, model)
    assert words.form("sieben und vierzig drei") == "siebenundvierzig drei"
    assert words.form("sieben drei") == "sieben drei"


@pytest.mark.parametrize("heard", ["", "read", "back read", "read back read back", "two stop", "x"])
def test_what_is_no_whole_form_is_nothing(heard: str) -> None:
    """Half a phrase, two phrases, or a phrase beside a number are refused."""
    model = {"read", "back", "stop", "two"}
    assert _list({"read back", "stop"}, {"two"}, model).form(heard) == ""


def test_forms_without_words_are_named() -> None:
    """A form that the model cannot say is left out and listed; the others go on."""
    words = _list({"rewind", "stop"}, {"nine"}, {"stop"})
    assert words.grammar == ("stop",)
    assert words.missing == ("rewind", "nine")


@given(
    phrases=st.sets(st.text("ab ", min_size=1, max_size=6).filter(str.split), max_size=5),
    numbers=st.sets(st.text("abc", min_size=1, max_size=4), max_size=5),
    model=st.sets(st.text("abc", min_size=1, max_size=3), max_size=12),
    heard=st.lists(st.text("abc", min_size=1, max_size=3), max_size=6),
)
def test_nothing_outside_the_vocabulary_comes_back(
    phrases: set[str], numbers: set[str], model: set[str], heard: list[str]
) -> None:
    """Whatever is heard, the answer is a form of the vocabulary or nothing."""
    phrases = {" ".join(phrase.split()) for phrase in phrases}
    vocabulary = Vocabulary(frozenset(phrases), frozenset(numbers))
    form = WordList(vocabulary, model.__contains__).form(" ".join(heard))
    assert form == "" or vocabulary.allows(form)


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_decoy_is_a_command_or_a_number(language: str) -> None:
    """Each language of the command table has decoys, and none is a whole command or number."""
    forms = set(phrases(language, 0))
    forms |= {form for number in range(1000) for form in number_forms(number, language)}
    assert len(decoys(language)) >= 90
    assert forms.isdisjoint(decoys(language))
