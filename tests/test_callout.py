"""Callouts: what is printed, what is said, and which words are never said."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from typing import TYPE_CHECKING, Literal, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_stages import COMMANDS, OPTIONS, Made, make_stage, stages, straight
from paper_plans import demo
from phrases import phrases

from companion.base.numerals import number_forms, plain
from companion.command import LANGUAGES, Command, Kind
from companion.devices.speech.make import measured_voice
from companion.diagnosis.effect import Effect
from companion.diagnosis.mends import How, Mend
from companion.diagnosis.slips import Advice, Diagnosis, Slip, SlipKind, Span
from companion.guide import (
    Message,
    Mode,
    Options,
    Say,
    start,
    step,
    upcoming,
    welcome_back,
)
from companion.guide import events as e
from companion.guide import mend_messages as mm
from companion.guide import messages as m
from companion.guide.terms import MENDED as IN_PLACE
from companion.guide.terms import (
    OTHER_REED,
    SHORTER,
    Cause,
    CauseKind,
    Do,
    Task,
    Way,
    WhyNot,
)
from companion.job import Danger, LeftOver, stage
from companion.session.session_lookup import walkable
from companion.wording import Style, render
from companion.wording.callouts import describe
from companion.wording.checks import OWN_CAUSES
from companion.wording.mistaken import MEASURED
from companion.wording.voice import speak

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.job import Stage, Step

Numbers = Literal["words", "digits", "both"]
STYLES = st.builds(
    Style,
    st.sampled_from(["words", "digits", "both"]),
    st.sampled_from(LANGUAGES),
)
TREACHEROUS = st.one_of(
    st.sampled_from([form for language in LANGUAGES for form in phrases(language, 1)]),
    st.sampled_from(["repeat 3", "go-back", "Read. Back", "DONE", "no", "read", "Sí", "zurück zu"]),
    st.text(max_size=12),
)
STAGE, SLEYING = straight(), straight(name="sley")
STEP, GROUP = STAGE.steps[4], STAGE.groups[0]
COMMAND_WORDS_ALLOWED = (m.Help, m.HelpHint)


def everything_said(stage: Stage, options: Options, commands: list[Command]) -> Iterator[Message]:
    state, effects = start(stage, options)
    yield from (effect.message for effect in effects if isinstance(effect, Say))
    for command in commands:
        outcome = step(state, command, stage)
        state = outcome.state
        yield from (effect.message for effect in outcome.effects if isinstance(effect, Say))
    yield from upcoming(state, stage, 3)
    greeting = welcome_back(state, stage)
    yield from (effect.message for effect in greeting if isinstance(effect, Say))


def words_of(text: str) -> str:
    words = re.findall(r"[^\W_]+", plain(text))
    return f" {' '.join(words)} "


CROSSED = Diagnosis((Slip(SlipKind.TRANSPOSED, 3, 4, (3, 4), (4, 3)),))
MISSED = Diagnosis((Slip(SlipKind.MISSED_END, 3, 3, (3,), (), places=(Span(3, 3), Span(7, 7))),))
SWAP = Mend((How.SWAP_ENDS,), 2, 0, 3, 4)
MENDED = e.MendAccount(1, 4, 3, 4, ((3, 1),), (1, 2, 4, 3), CROSSED, SWAP)
TWO_KINDS = Diagnosis(
    (
        Slip(SlipKind.UNIT_ADDED, 3, 2, (), (1, 2)),
        Slip(SlipKind.UNIT_SKIPPED, 5, 8, (1, 2, 3, 4)),
    )
)
OF_MENDING: list[Message] = [
    m.Hold(STAGE, GROUP, 3, 4, False, (Cause(CauseKind.CONFIRMED_TWICE),), diagnoses=(MISSED,)),
    m.Hold(SLEYING, GROUP, 1, 2, False, (Cause(CauseKind.NOT_CONFIRMED),), diagnoses=(CROSSED,)),
    e.FeltRight(3, 4, "dent"),
    e.FeltWrong(3, 4, 2, "dent"),
    e.FeltWrong(3, 4, 0, "dent", is_beyond=True),
    e.Overridden(1, 4, 11, 12, left=LeftOver("heddle", 3, 12)),
    e.Overridden(1, 4, 11, 12, left=LeftOver("dent", 0, 12)),
    *(mm.Suspected((CROSSED, MISSED), (advice,)) for advice in Advice),
    mm.Suspected(()),
    e.HeddlesReported(((3, 1), (4, -2))),
    e.HeddlesReported(()),
    mm.MendQuestion(CROSSED, SWAP, Effect(4, 2, 0, 0, 0, None, None), 1),
    mm.MendQuestion(MISSED, Mend((How.RETHREAD,), 9, 0, 3, 11), None, 0),
    *(mm.MendStep(Task(do, 3, 4, 1), 1, 3) for do in Do),
    e.MendLeft(),
    e.MendFinished(MENDED),
    mm.LeftQuestion(LeftOver("heddle", 1, 40), is_full=True),
    mm.LeftQuestion(LeftOver("dent", 0, 12), is_full=True),
    m.Finished(STAGE, (), (MENDED,)),
]
WALKED = e.Walked(("raddle", "thread"))
OF_PLANS: list[Message] = [
    *(e.PlanChanged(WALKED, WALKED, "thread", way=way, edge="left") for way in Way),
    e.PlanChanged(WALKED, WALKED),
    e.PlanChanged(WALKED, WALKED, "thread", 9, 11),
    e.PlanChanged(WALKED, WALKED, "thread", 9, why=SHORTER, ends=(40, 8), off_centre=2),
    e.PlanChanged(WALKED, WALKED, "thread", is_regrouped=True, stands=("raddle",)),
    e.PlanChanged(WALKED, WALKED, later=("beam",)),
    e.PlanChanged(WALKED, WALKED, "thread", 8, mended=(8,)),
    e.PlanChanged(WALKED, WALKED, "thread", 8, mended=(8, 9)),
    e.PlanChanged(WALKED, WALKED, left_out=("raddle",), added=("tie-up", "beam")),
]
ONE_OF_EACH: list[Message] = [
    m.Hold(STAGE, GROUP, 7, 8, is_so_far=False, is_explained=False),
    m.Hold(STAGE, GROUP, 2, 1, is_so_far=True, is_explained=False),
    *OF_MENDING,
    m.Welcome(STAGE),
    m.Cautions(),
    m.Cautions(is_short=True),
    m.Cautions(is_weaving=True),
    *(m.StageCaution(danger) for danger in Danger),
    m.StageCaution(Danger.WEAVING, is_short=True),
    m.HelpHint(),
    m.GroupStart(STAGE, GROUP),
    m.StepCall(STAGE, (STEP,), named=(m.Named(0, "block A", 1, colour="white"),)),
    e.TakenBack(4, 4, 2),
    m.CountQuestion(STAGE, GROUP),
    m.CountQuestion(STAGE, GROUP, is_so_far=True),
    m.CountQuestion(SLEYING, GROUP),
    e.Counted(1, 12, "end"),
    m.GroupEnd(STAGE, GROUP),
    m.GroupEnd(SLEYING, GROUP._replace(expected=0)),
    m.Differs(SLEYING, GROUP, 11, 12, False, (Cause(CauseKind.CONFIRMED_TWICE),)),
    m.Differs(SLEYING, GROUP, 2, 1, True, (Cause(CauseKind.CONFIRMED_TWICE),)),
    m.AffirmQuestion(STAGE, GROUP, 12),
    m.CatchUpQuestion(STAGE, GROUP, STAGE.steps[0], 6, 3, 3),
    e.Affirmed(1, 12, "end"),
    *(m.ChoiceCall(kind, is_first=kind is Kind.DONE) for kind in Kind),
    m.ChoiceCall(Kind.COUNT, is_row=True),
    m.NumberCall(4),
    m.NumberCall(None),
    m.OfferCall(7, is_shaft=False, is_first=True),
    m.OfferCall(3, is_shaft=True, is_first=True, first_end=9),
    m.OfferCall(3, is_shaft=True, is_first=False, first_end=9),
    m.ChoicesClosed(),
    e.TakenOver(1, 150),
    m.LookQuestion(STAGE, GROUP, STAGE.steps[:2]),
    m.WhichGroup(),
    m.KnotReminder(3),
    m.LookQuestion(SLEYING, SLEYING.groups[0], SLEYING.steps[:2]),
    m.NewPace(4),
    m.NewPace(0),
    *(
        m.Hold(replace(STAGE, name=name), GROUP, 9, 12, False, (Cause(kind, times, 3, ((1, 4),)),))
        for name in ("thread", *OWN_CAUSES)
        for kind in CauseKind
        if (name == "thread") == (kind not in {CauseKind.OWN_TOO_FEW, CauseKind.OWN_TOO_MANY})
        for times in (1, 2)
    ),
    m.ReadingStart("end", 1, GROUP),
    m.ReadingStart("end", 0),
    m.StepCall(STAGE, (STEP,), named=(m.Named(0, colour="white"),), is_read_back=True),
    m.ReadingEnd(),
    e.FeltRight(1, 4),
    e.FeltWrong(3, 4, 3),
    e.FeltWrong(3, 4, 0, is_beyond=True),
    e.Paused(),
    e.Resumed(),
    m.RewindQuestion(STAGE, STEP, 3, 1),
    m.AcceptQuestion(STAGE, GROUP, 11, 12),
    *(m.PlanQuestion(STAGE, 5, 11, why) for why in ("", OTHER_REED, SHORTER)),
    *(m.PlanQuestion(STAGE, 5, 11, IN_PLACE, ends) for ends in ((5,), (5, 6))),
    *(m.EdgeQuestion(STAGE, way, 11) for way in Way),
    *OF_PLANS,
    m.LeaveQuestion(),
    m.Dropped(),
    e.TakenBack(1, 3, 1),
    e.Overridden(1, 4, 11, 12, "wound one short"),
    e.Undone(4, 1, (), 0),
    *(m.Where(STAGE, GROUP, mode, STEP, 4) for mode in Mode),
    *(m.Help(mode, tuple(Kind)) for mode in Mode),
    m.NewRate(1),
    m.NewRate(-1),
    *(m.Refused(why, 9, 3) for why in WhyNot),
    m.Unknown("dunn", ("done", "help")),
    m.Unknown("rewind", ("rewind 4",), example="rewind 4"),
    m.Unknown("foobar", (), (Kind.COUNT, Kind.MEND, Kind.HELP)),
    m.Unknown("", ("done",)),
    m.WelcomeBack(STAGE, STAGE.groups[1], 5, 1),
    m.WelcomeBack(STAGE, STAGE.groups[1], 4, 0),
    m.WelcomeBack(SLEYING, GROUP, 0, 0),
    m.Goodbye(4, 12),
    m.Finished(SLEYING),
    m.Finished(STAGE, (e.Overridden(1, 4, 11, 12),)),
]


def test_every_message_has_its_words() -> None:
    """No kind of message is without a sentence."""
    kinds = {
        kind
        for kind in (*vars(m).values(), *vars(mm).values(), *vars(e).values())
        if isinstance(kind, type) and issubclass(kind, Message)
    }
    bases = {Message, m.OfStage, m.OfGroup}
    assert {type(message) for message in ONE_OF_EACH} == kinds - bases
    for message in ONE_OF_EACH:
        utterance = render(message, Style())
        assert utterance.text.lstrip('"')[0].isalnum()
        assert utterance.spoken
        assert "\n" not in utterance.text


def tokens(text: str) -> tuple[str, ...]:
    return tuple(re.findall(r"[^\W_]+", plain(text)))


LARGEST = 40
NUMBERS = {
    tokens(words)
    for language in LANGUAGES
    for number in range(LARGEST + 1)
    for words in number_forms(number, language)
}
ENDINGS = {tokens(form) for each in LANGUAGES for form in phrases(each, LARGEST)} - NUMBERS


def ends_on(text: str) -> list[tuple[str, ...]]:
    """Return the commands whose words a text ends on; a bare number is one in every callout."""
    said = tokens(text)
    return [said[-size:] for size in range(1, 9) if said[-size:] in ENDINGS]


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_callout_ends_on_the_words_of_a_command(language: str) -> None:
    """An echo of the last words must give no command; a choice is its command's word alone, and
    hearing refuses what repeats it at once."""
    assert ends_on("Group 3: read back.")
    for message in ONE_OF_EACH:
        utterance = render(message, Style(language=language))
        if not isinstance(message, m.ChoiceCall):
            assert (message, ends_on(utterance.spoken)) == (message, [])


@pytest.mark.parametrize("plan", ["rippled-shawl", "striped-towels", "dobby-runner"])
def test_no_opening_ends_on_the_words_of_a_command(plan: str) -> None:
    """Nor what every stage begins with, whole and in short."""
    dressing = demo(plan)
    for name in walkable(dressing):
        for opening in get_args(m.Opening):
            _, effects = start(stage(dressing, name), Options(opening=opening))
            said = [render(each.message, Style()) for each in effects if isinstance(each, Say)]
            assert [(name, one.text) for one in said if ends_on(one.spoken)] == []


@given(stages(), OPTIONS, st.lists(COMMANDS, max_size=25), STYLES)
def test_callouts_are_single_lines_without_digits_for_the_voice(
    stage: Stage, options: Options, commands: list[Command], style: Style
) -> None:
    """One line is printed; what is said has its numbers as words and no stray marks."""
    for message in everything_said(stage, options, commands):
        utterance = render(message, style)
        assert len(utterance.text.splitlines()) == 1
        assert not re.search(r"[0-9]", utterance.spoken)
        assert not re.search(r"\s[.,:;?]|[,:;][.,:;?]|  ", utterance.spoken)


@given(stages())
def test_each_step_names_its_ends_shafts_and_dents(stage: Stage) -> None:
    """Nothing that the weaver needs for a step is left out of its callout, or of its reading."""
    for number in stage.steps:
        call = render(m.StepCall(stage, (number,)), Style()).text
        read = render(m.StepCall(stage, (number,), is_read_back=True), Style()).text
        for text in (call, read):
            assert names_step(text, number) if number.dents else describe(number, stage)[1:] in text
            assert (f"{number.empty_dents} dent" in text) == (number.empty_dents > 0)


def names_step(text: str, number: Step) -> bool:
    numbers = {int(digits) for digits in re.findall(r"\d+", text)}
    ends = {number.first_end, number.last_end} - {0}
    dents = set(number.dents) if len(set(number.dents)) < 3 else {number.dents[0], number.dents[-1]}
    return ends | dents | set(number.shafts) <= numbers


def call(made: Made, name: Literal["thread", "sley", "thread-and-sley"]) -> str:
    stage = make_stage(name, [("", [Made((1,) * 36), made])])
    return render(m.StepCall(stage, (stage.steps[1],)), Style()).text


def test_the_wording_of_steps() -> None:
    """An end, a chunk, doubled ends, a dent and a floating selvedge."""
    assert call(Made((1,)), "thread-and-sley") == "End 37: shaft 1, dent 37."
    assert call(Made((2, 3, 4, 3)), "thread") == "Ends 37 to 40: shafts 2, 3, 4, 3."
    assert (
        call(Made((2, 3), empty_dents=1), "thread-and-sley")
        == "Leave 1 dent empty. Ends 37 and 38: shafts 2, 3, dents 38 and 39."
    )
    assert call(Made((4, 4), is_doubled=True), "thread") == "Ends 37 and 38 in one heddle: shaft 4."
    assert call(Made((1, 2)), "sley") == "Dent 2: ends 37 and 38, shafts 1, 2."
    assert call(Made(()), "thread-and-sley") == "Floating selvedge: dent 37, no heddle."


@pytest.mark.parametrize(
    ("numbers", "spoken"),
    [
        ("words", "Ends thirteen through sixteen: shafts two, three, four, three."),
        ("digits", "Ends one three through one six: shafts two, three, four, three."),
        (
            "both",
            "Ends thirteen, one three, through sixteen, one six: shafts two, three, four, three.",
        ),
    ],
)
def test_numbers_are_said_as_the_weaver_set_them(numbers: Numbers, spoken: str) -> None:
    """Whole, digit by digit, or both for those that are mistaken for one another by ear."""
    assert spoken == speak("Ends 13 to 16: shafts 2, 3, 4, 3.", Style(numbers))


@pytest.mark.parametrize("number", [13, 15, 19, 30, 50, 90, 113, 150, 1015])
def test_risky_numbers_are_said_twice(number: int) -> None:
    """By a voice that was not measured teens and tens are said both ways; those between once."""
    style = Style("both", voice="unheard of")
    digits = speak(" ".join(str(number)), style)
    assert speak(f"End {number}.", style).endswith(f", {digits}.")
    assert "," not in speak(f"End {number + 8}.", style)


def test_what_is_said_twice_follows_what_the_voice_is_measured_to_mix_up() -> None:
    """Each measured voice has its own numbers; between two measured speeds the faster one holds."""
    twice = {
        (voice, speed): {
            number
            for number in range(1, 100)
            if "," in speak(f"dent {number}", Style("both", "en", voice, speed))
        }
        for voice in MEASURED
        for speed in (80, 160, 200, 220, 450)
    }
    assert set(range(13, 20)) < twice["en", 160]
    assert len(twice["natural", 160]) < len(twice["en", 160])
    for voice in MEASURED:
        assert twice[voice, 80] == twice[voice, 160] != twice[voice, 220]
        assert twice[voice, 200] == twice[voice, 220]
        assert not twice[voice, 450] & set(range(10))


def test_a_voice_is_known_by_what_the_settings_choose(monkeypatch: pytest.MonkeyPatch) -> None:
    """On Linux espeak-ng's by language; elsewhere nobody has measured what the system speaks by."""
    monkeypatch.setattr(sys, "platform", "linux")
    assert [measured_voice("natural", ""), measured_voice("system", "en-us")] == [
        "natural",
        "en-us",
    ]
    assert measured_voice("auto", "") == "en"
    monkeypatch.setattr(sys, "platform", "win32")
    assert measured_voice("system", "") == ""


def test_what_was_not_understood_is_told_whole() -> None:
    """What came may hold any mark; it is told with the commands to choose from, for eye and ear."""
    utterance = render(m.Unknown("foo; bar", ("done", "repeat")), Style())
    assert utterance.text == '"foo; bar" is not a command. Say "done" or "repeat" instead.'
    assert utterance.spoken == utterance.text


def test_help_uses_the_words_of_the_weavers_language() -> None:
    """The sentences are English, the commands those the weaver says."""
    helped = render(m.Help(Mode.WALKING, (Kind.DONE, Kind.STOP)), Style(language="de")).text
    assert helped == "Fertig: next. Aufhören: leave; your place is kept. Auswahl: the rest."


def test_of_many_slips_the_first_are_told_and_the_rest_counted() -> None:
    """Five slips twice over took 45 seconds; nobody keeps more than a few in mind."""
    slips = tuple(Slip(SlipKind.WRONG_SHAFT, end, end, (1,), (end,)) for end in (2, 3, 4))
    told = render(mm.Suspected((Diagnosis(slips), CROSSED), may_mend=True), Style()).text
    assert told == (
        "Most likely end 2 is on shaft 2 instead of shaft 1. End 3 is on shaft 3 instead of shaft "
        "1. And 1 more. Say mend to put it right."
    )


def test_at_the_end_of_a_stage_each_mended_group_is_named_once_and_in_one_row() -> None:
    """Groups mended twice are not told twice, and none but the first word is a capital."""
    mended = (MENDED, replace(MENDED, group=2), MENDED, replace(MENDED, group=0))
    told = render(m.Finished(STAGE, (), mended), Style()).text
    assert told.endswith("Put right: group 1, group 2 and the whole warp.")


def test_different_slips_at_once_are_told_only_where_they_were_felt() -> None:
    """A unit there twice and another left out take long to hear, and many such explain a count."""

    def told(*diagnoses: Diagnosis, is_felt: bool = False) -> str:
        hold = m.Hold(
            STAGE, GROUP, 3, 4, is_so_far=False, diagnoses=diagnoses, is_felt=is_felt,
            telling="causes",
        )  # fmt: skip
        return render(hold, Style()).text

    assert "unit" not in told(MISSED, TWO_KINDS)
    assert "unit" not in told(TWO_KINDS)
    assert told(TWO_KINDS, is_felt=True).count("unit") == 2
