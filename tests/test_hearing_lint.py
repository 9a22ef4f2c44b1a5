"""How far apart spoken forms sound, on the CMU Pronouncing Dictionary and the command table."""

from __future__ import annotations

import pytest
from pronouncing import english, pronounce_each
from sounds import Clash, clashes, distance

from companion.command.words import FORMS


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [("stop", "stop", 0.0), ("ten", "tan", 0.5), ("fifty", "fifteen", 1.0), ("go", "back", 2.0)],
)
def test_distance_counts_sounds(one: str, other: str, expected: float) -> None:
    """By hand on dictionary entries: T EH N / T AE N, F IH F T IY (N)."""
    assert min(distance(a, b) for a in english(one) for b in english(other)) == expected


def test_a_table_with_two_like_words_is_refused_by_name() -> None:
    """ "no" and "go" would be taken for one another; the clash names both and what to do."""
    forms = {"no": "refuse", "go": "advance", "read back": "read back"}
    (clash,) = clashes(forms, {form: english(form) for form in forms})
    assert clash == Clash("go", "no", 1.0)
    assert str(clash).startswith('"go" and "no" differ by 1 sounds, expected at least 1.5')


def test_two_forms_of_one_command_may_be_alike() -> None:
    """ "undo" and "undo that" mean the same, so that mixing them up does no harm."""
    forms = {"pause": "pause", "paws": "pause"}
    assert clashes(forms, {form: english(form) for form in forms}) == []


@pytest.mark.parametrize("language", sorted(FORMS))
def test_no_two_commands_of_a_language_sound_alike(language: str) -> None:
    """Every language's own table passes the lint."""
    forms = {
        form: name for name, texts in FORMS[language].items() for form in texts if "{" not in form
    }
    sounds = pronounce_each(list(forms), language)
    assert all(sounds.values()), [form for form, ways in sounds.items() if not ways]
    assert [str(clash) for clash in clashes(forms, sounds)] == []
