"""Reading a plan file: what is kept of it, and how everything wrong with it is told."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
from plan_texts import BY_DRAFT, PLAN, WIF, problems_of

from companion.base.errors import PlanError
from companion.plan.fault import Fault
from companion.plan.file.reader import MAX_PLAN_BYTES, Plan, parse_plan, read_plan

if TYPE_CHECKING:
    from pathlib import Path


def test_a_plan_is_read_with_all_that_is_needed_to_read_it_again(tmp_path: Path) -> None:
    """The text in hand gives the same plan later, when the file may have changed."""
    path = tmp_path / "four.toml"
    path.write_text(PLAN, encoding="utf-8")
    plan = read_plan(path)
    assert plan.draft.shafts == (1, 2, 3, 4)
    assert (plan.file.title, plan.path) == ("Four ends", path)
    assert (plan.text, plan.draft_text) == (PLAN, None)
    assert parse_plan(plan.text, str(path)) == plan


def test_a_plan_with_a_draft_is_read_with_the_drafts_text(tmp_path: Path) -> None:
    """The WIF file is looked for beside the plan, or below it, and kept."""
    (tmp_path / "drafts").mkdir()
    (tmp_path / "drafts" / "four.wif").write_text(WIF, encoding="utf-8")
    path = tmp_path / "four.toml"
    path.write_text(BY_DRAFT.replace("four.wif", "drafts/four.wif"), encoding="utf-8")
    plan = read_plan(path)
    assert plan.draft.shafts == (1, 2, 3, 4)
    assert plan.draft_text == WIF
    assert parse_plan(plan.text, str(path), plan.draft_text) == plan


def test_a_draft_may_stand_elsewhere_by_its_full_path(tmp_path: Path) -> None:
    """A folder of drafts serves many plans."""
    (tmp_path / "four.wif").write_text(WIF, encoding="utf-8")
    (tmp_path / "plans").mkdir()
    path = tmp_path / "plans" / "four.toml"
    full = (tmp_path / "four.wif").as_posix()
    path.write_text(BY_DRAFT.replace("four.wif", full), encoding="utf-8")
    assert read_plan(path).draft.shafts == (1, 2, 3, 4)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "cp1252"])
def test_a_drafts_text_reads_the_same_again_whatever_its_encoding(
    tmp_path: Path, encoding: str
) -> None:
    """Old files have old encodings; what is stored is text."""
    wif = f"{WIF}[TEXT]\nTitle=Entr\u00e9e\n"
    (tmp_path / "four.wif").write_bytes(wif.encode(encoding))
    path = tmp_path / "four.toml"
    path.write_text(BY_DRAFT, encoding="utf-8")
    plan = read_plan(path)
    assert plan.draft.title == "Entr\u00e9e"
    assert parse_plan(plan.text, str(path), plan.draft_text) == plan


@pytest.mark.parametrize(
    ("sides", "shafts"),
    [
        ('first_end = "right"', (1, 2, 3, 4)),
        ('first_end = "left"', (4, 3, 2, 1)),
    ],
)
def test_a_draft_is_turned_to_the_edge_the_plan_starts_at(
    sides: str, shafts: tuple[int, ...]
) -> None:
    """The draft's thread 1 is at the right unless the plan says otherwise."""
    assert parse_plan(BY_DRAFT + sides, "x", WIF).draft.shafts == shafts


def test_what_was_tolerated_in_a_draft_is_kept_as_notes() -> None:
    """A weaver can be told; the plan is still right."""
    notes = parse_plan(BY_DRAFT, "x", WIF.replace("WARP=yes", "LIFTPLAN=yes")).notes
    assert any("LIFTPLAN" in note for note in notes)


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm() -> None:
    """Some editors write both."""
    plan = parse_plan("\ufeff" + PLAN.replace("\n", "\r\n"), "x")
    assert plan.draft.shafts == (1, 2, 3, 4)
    assert plan.problem(Fault(("warp", "ends"), "", "")).place == "line 5, warp.ends"


@pytest.mark.parametrize(
    ("path", "place"),
    [
        (("warp", "ends"), "line 5, warp.ends"),
        (("loom", "heddles", 2), "line 14, loom.heddles.3"),
        (("threading", 1, "parts", 1, "ends"), "line 25, threading.2.parts.2.ends"),
        (("loom", "weaving_width"), "line 12, loom.weaving_width"),
        (("raddle",), "line 1, raddle"),
    ],
)
def test_a_place_is_told_by_its_line(path: tuple[str | int, ...], place: str) -> None:
    """What the file does not have is told by what is around it."""
    assert parse_plan(PLAN, "x").problem(Fault(path, "", "")).place == place


def test_the_fingerprint_changes_with_either_text() -> None:
    """A plan that changed since is noticed, in either of its files, and in nothing else."""
    plan = parse_plan(BY_DRAFT, "x", WIF)
    assert len(plan.fingerprint) == 64
    assert int(plan.fingerprint, 16) > 0
    assert parse_plan(BY_DRAFT, "moved.toml", WIF).fingerprint == plan.fingerprint
    for text, draft in ((BY_DRAFT + "\n", WIF), (BY_DRAFT, WIF + "\n")):
        assert parse_plan(text, "x", draft).fingerprint != plan.fingerprint


def test_the_fingerprint_sees_text_that_moves_from_one_file_to_the_other() -> None:
    """The two texts are told apart where they meet."""
    plan = parse_plan(BY_DRAFT, "x", WIF)
    prints = {
        Plan(plan.file, plan.draft, plan.path, text, draft).fingerprint
        for text, draft in (("ab", "c"), ("a", "bc"), ("abc", None))
    }
    assert len(prints) == 3


@pytest.mark.parametrize(
    ("name", "fault"),
    [
        ("missing.toml", 'expected the file "missing.toml", and there is none'),
        (".", "expected a file, and "),
        ("a\0b", 'expected the file "a?b", and there is none'),
        ("x" * 5000, "expected to read the file"),
        ("pipe", 'expected a file, and "pipe" is a device or a pipe'),
    ],
)
def test_what_is_no_file_is_told_so(tmp_path: Path, name: str, fault: str) -> None:
    """In one line, without waiting for a pipe that nobody writes to."""
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(PlanError) as caught:
        read_plan(tmp_path / name)
    assert str(caught.value).partition(": ")[2].startswith(fault)
    assert "\n" not in str(caught.value)
    assert caught.value.exit_code == 2


@pytest.mark.parametrize(
    ("name", "mend"),
    [
        ("towels", 'Name "towels.toml" if that is meant'),
        ("towles.toml", 'Name "towels.toml" if that is meant'),
        ("towels.wif", "Check the name and the folder"),
        ("rug.toml", "Check the name and the folder"),
    ],
)
def test_the_file_that_was_most_likely_meant_is_named(tmp_path: Path, name: str, mend: str) -> None:
    """An ending forgotten or letters that changed places; no plan is offered for a draft."""
    (tmp_path / "towels.toml").write_text(PLAN)
    with pytest.raises(PlanError) as caught:
        read_plan(tmp_path / name)
    assert [problem.mend for problem in caught.value.problems] == [mend]


def test_a_file_too_large_is_refused_unread(tmp_path: Path) -> None:
    """Five million bytes are far more than any plan."""
    path = tmp_path / "large.toml"
    path.write_bytes(b"#" * (MAX_PLAN_BYTES + 1))
    with pytest.raises(PlanError, match="at most 5 million bytes"):
        read_plan(path)


@pytest.mark.parametrize(
    "content",
    [
        b"\x89PNG\r\n\x1a\n\0\0\0",
        b"Dear diary: today I wound the warp.\n",
        b"to be done = a warp for towels\n",
        b'{"a": 1}\n',
        b"<p>Warp</p>\n",
        b"end,shaft\n1,2\n",
    ],
)
def test_a_file_that_is_no_plan_is_told_as_one(tmp_path: Path, content: bytes) -> None:
    """In one line, without its text: where nothing is like a plan no line of it needs mending."""
    path = tmp_path / "other"
    path.write_bytes(content)
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    assert str(caught.value) == (
        f"{path}: expected a plan, and this is another kind of file. "
        "Make a plan with companion new FILE.toml, or name another file."
    )


def test_text_that_is_not_utf_8_is_told_by_its_line(tmp_path: Path) -> None:
    """An editor that writes another encoding is the usual cause."""
    path = tmp_path / "plan.toml"
    path.write_bytes(PLAN.replace("Four", "F\u00f6ur").replace("\n", "\r\n", 1).encode("cp1252"))
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    assert str(caught.value.problems[0]) == (
        "line 1: expected UTF-8 text, and byte 11 of the file is not. "
        "Save the file again with the encoding UTF-8."
    )


@pytest.mark.parametrize(
    ("text", "place", "advice"),
    [
        ("title = Towels", "line 1, column 9", "in quotation marks"),
        ("[warp\nends = 3", "line 1, column 6", "bracket"),
        ("a = 1\na = 2", "line 2", "Give each key once"),
        ("[a]\n[a]", "line 2, column 3", "[[threading]]"),
        ('a = "x\n"', "line 1, column 7", "quotation marks"),
        ('a = """x', "line 1", "quotation marks"),
        ("a = [1, 2", "line 1", "bracket"),
        ("a = 1\nb", "line 2", "equals sign"),
        ("title: Towels", "line 1, column 6", "equals sign"),
        ("# mine\rtitle = 1\r", "line 1, column 7", "demo plan"),
        ("a = 12 in", "line 1, column 8", "a number alone"),
        ("a = " + "[" * 5000, "the whole file", "blocks"),
        ("a = " + "[" * 40 + "]" * 40, "the whole file", "blocks"),
        ("a = " + "9" * 5000, "the whole file", "number"),
    ],
)
def test_text_that_is_not_toml_is_told_by_line_and_column(
    text: str, place: str, advice: str
) -> None:
    """The place is that of the standard library's TOML reader."""
    [problem] = problems_of(text)
    assert problem.startswith(f"{place}: expected ")
    assert advice in problem
