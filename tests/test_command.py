"""The table of commands: what is understood, what is refused, and what is told."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from phrases import phrases

from companion.base.errors import CommandError
from companion.base.numerals import LARGEST, english, number_forms, plain
from companion.command import (
    LANGUAGES,
    Command,
    Kind,
    NotACommandError,
    parse,
)
from companion.command.words import FORMS, KEYS, KEYS_AFTER_NUMBER

UNDERSTOOD = {
    "done": Command(Kind.DONE),
    "  Done. ": Command(Kind.DONE),
    "GO BACK!": Command(Kind.BACK),
    "Where am I?": Command(Kind.WHERE),
    "24": Command(Kind.COUNT, 24, numbers=(24,)),
    "twenty four": Command(Kind.COUNT, 24, numbers=(24,)),
    "Twenty-four.": Command(Kind.COUNT, 24, numbers=(24,)),
    "count twenty four": Command(Kind.COUNT, 24),
    "count two four": Command(Kind.COUNT, 24),
    "one hundred and five": Command(Kind.COUNT, 105, numbers=(105,)),
    "one two three four": Command(Kind.COUNT, 1234, numbers=(1, 2, 3, 4)),
    "1,2,3,4": Command(Kind.COUNT, numbers=(1, 2, 3, 4)),
    "1 2": Command(Kind.COUNT, numbers=(1, 2)),
    "count 1, 2, 3": Command(Kind.COUNT, numbers=(1, 2, 3)),
    "9 10 11 12": Command(Kind.COUNT, numbers=(9, 10, 11, 12)),
    "read back": Command(Kind.READ_BACK),
    "read back group 3": Command(Kind.READ_BACK, 3),
    "read back group three": Command(Kind.READ_BACK, 3),
    "read back from 37": Command(Kind.READ_BACK, 37, is_end=True),
    "read back from end thirty seven": Command(Kind.READ_BACK, 37, is_end=True),
    "rewind 37": Command(Kind.REWIND, 37),
    "rewind to three seven": Command(Kind.REWIND, 37),
    "rewind 1204": Command(Kind.REWIND, 1204),
    "mend it": Command(Kind.MEND),
    "spare on shaft three": Command(Kind.SPARE, 3),
    "missing heddle on shaft 4": Command(Kind.LACKING, 4),
    "accept": Command(Kind.ACCEPT),
    "Accept  felt  it Twice": Command(Kind.ACCEPT, text="felt it Twice"),
    "d": Command(Kind.DONE),
    "?": Command(Kind.HELP),
}


@pytest.mark.parametrize(("text", "command"), UNDERSTOOD.items())
def test_words_give_their_command(text: str, command: Command) -> None:
    """Case, spaces and punctuation do not matter; numbers come as words, digits or one by one."""
    assert command == parse(text)


REFUSED = (
    "don",
    "done done",
    "done back",
    "not done",
    "read",
    "3.5",
    "-3",
    "24 ends",
    "count",
    "count many",
    "rewind",
    "rewind 3.5",
    "rewind twenty four three",
    "2000000",
    "twenty twenty-first",
    "",
    "   ",
    "\n",
    "\0",
    "done\u0301x",
    "one " * 3000,
    "accept " + "x" * 5000,
)


@pytest.mark.parametrize("text", REFUSED)
def test_other_words_are_refused_in_one_line(text: str) -> None:
    """Nothing but the exact forms is a command, and the refusal is one short line."""
    with pytest.raises(CommandError) as error:
        parse(text)
    assert "\n" not in str(error.value)
    assert len(str(error.value)) < 200


def test_a_refusal_names_what_was_heard_and_what_comes_closest() -> None:
    """The weaver hears her own words and the few commands near them."""
    with pytest.raises(CommandError, match=r'^"dunn" is not a command. Say "done" instead'):
        parse("dunn")
    with pytest.raises(CommandError, match=r'^Heard "rewind" without a number: say .*"rewind 4"'):
        parse("rewind")
    with pytest.raises(
        CommandError, match=r'^Heard "look" without a number: say .*"look at group 1"'
    ):
        parse("look")


@pytest.mark.parametrize(
    ("heard", "offered"),
    [
        ("dun", ["done"]),
        ("bakc", ["back"]),
        ("mending", ["mend"]),
        ("say that again", ["say again"]),
        ("repeat please", ["repeat"]),
        ("where i am", ["where am i"]),
        ("next", ["next one"]),
        ("help me", ["help me mend", "help"]),
        ("read group 3", ["read back group 3"]),
        ("missing shaft 2", ["missing on shaft 2"]),
        ("4 at time", ["4 at a time"]),
        ("rewind 1000001", ["rewind 4"]),
        ("rewind \u0661\u0662", ["rewind 4"]),
        *((far, []) for far in ("foobar", "sumary", "hello", "heddle", "options", "put it right")),
    ],
)
def test_what_is_far_from_every_command_is_not_taken_for_one(
    heard: str, offered: list[str]
) -> None:
    """A word spelt nearly, sounding alike or a word short is offered its command, with the number
    that was given; any other is offered none."""
    with pytest.raises(NotACommandError) as error:
        parse(heard)
    assert list(error.value.closest) == offered
    assert all(parse(each) for each in offered)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_phrase_is_understood_as_its_own_command(language: str) -> None:
    """What a recogniser is fed and what is understood are the same, and nothing means two."""
    assert set(FORMS[language]) == {kind.value for kind in Kind}
    given = list(phrases(language, 120))
    assert [phrase for phrase, times in Counter(map(plain, given)).items() if times > 1] == []
    for kind in Kind:
        for form in FORMS[language][kind.value]:
            words = form.replace("{n}", "7").replace("{end}", "7").replace("{reason}", "felt")
            assert kind is parse(words, language).kind
    for phrase in given:
        assert parse(phrase, language).kind in Kind


@pytest.mark.parametrize("language", LANGUAGES)
def test_counts_up_to_the_largest_are_understood(language: str) -> None:
    """Every number from 0 to 999 is a count, in every form of it."""
    for number in range(LARGEST + 1):
        for words in number_forms(number, language):
            assert number == parse(words, language).number
    assert parse("1000", language).number == 1000


@pytest.mark.parametrize("language", LANGUAGES)
def test_keys_mean_the_same_in_every_language(language: str) -> None:
    """Keys and pedals give English forms, which no other language takes for something else."""
    for kind in Kind:
        if kind not in {
            Kind.COUNT,
            Kind.REWIND,
            Kind.SPARE,
            Kind.LACKING,
            Kind.AT_A_TIME,
            Kind.LOOK,
        }:
            assert kind is parse(kind.value, language).kind
    for key, name in KEYS.items():
        assert (len(key), parse(name).kind) == (1, Kind(name))
    for form in KEYS_AFTER_NUMBER.values():
        words = form.format(n="24", end="24")
        assert parse(words) == parse(words, language)


def test_korean_is_understood_with_and_without_spaces() -> None:
    """Recognisers space Korean as they like."""
    assert Command(Kind.COUNT, 24, numbers=(24,)) == parse("이십 사", "ko")
    assert Command(Kind.COUNT, 1234, numbers=(1, 2, 3, 4)) == parse("일이삼사", "ko")
    assert Command(Kind.COUNT, 24) == parse("스물네 개", "ko")
    assert Command(Kind.READ_BACK) == parse("읽어줘", "ko")
    assert Command(Kind.REWIND, 37) == parse("서른일곱번으로", "ko")


def test_accents_may_be_left_out() -> None:
    """Typing without accents works: "atras" is "atrás", "zuruck" is "zurück"."""
    assert Command(Kind.BACK) == parse("atras", "es")
    assert Command(Kind.REWIND, 37) == parse("zuruck zu siebenunddreissig", "de")


@given(st.text(max_size=80), st.sampled_from(LANGUAGES))
def test_any_text_is_a_command_or_one_line(text: str, language: str) -> None:
    """No text breaks the reading of commands."""
    line = ""
    try:
        command = parse(text, language)
    except CommandError as error:
        line = str(error)
    assert line.isprintable()
    assert line or command.kind in Kind


@pytest.mark.parametrize("language", LANGUAGES)
def test_number_words_are_those_of_a_reference_library(language: str) -> None:
    """Numbers agree with num2words, release 0.5.14, over the whole range."""
    reference = pytest.importorskip("num2words").num2words
    for number in range(LARGEST + 1):
        words = plain(reference(number, lang=language).replace("-", " "))
        assert words in {plain(form) for form in number_forms(number, language)}


def test_spoken_numbers_are_those_of_a_reference_library() -> None:
    """What callouts say agrees with num2words up to 999,999, commas and "and" apart."""
    reference = pytest.importorskip("num2words").num2words
    for number in [*range(1000), *range(1000, 1_000_000, 997), 999_999]:
        words = reference(number).replace("-", " ").replace(",", "").replace(" and ", " ")
        assert words == english(number)
