"""Who may use the board from the network: codes, marks, their end, and forgetting a tablet."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from board_door import FORM, RunningBoard, words
from front_door import run
from websockets.exceptions import ConnectionClosed

from companion.base.errors import CompanionError
from companion.out.board.app import MOST_PLANS
from companion.out.board.line import UNPAIRED
from companion.out.board.maker_page import free_path
from companion.out.board.pairing import (
    CODE_SECONDS,
    MOST_WRONG,
    PRINTED_SECONDS,
    TRIES,
    WAIT_SECONDS,
    Offer,
    Pairing,
    new_offer,
)
from companion.out.board.reach import BOARD, TEACHER, may_reach
from companion.out.board.tablets import KEPT_SECONDS, MOST_TABLETS, Tablets

if TYPE_CHECKING:
    from pathlib import Path

NETWORK = ("--network", "--address", "127.0.0.2")
HERE, THERE = "192.168.1.7", "192.168.1.8"


class Clock:
    """Seconds that pass only when told."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def pairing(tmp_path: Path, clock: Clock) -> Pairing:
    return Pairing(Tablets(tmp_path / "tablets.json", clock), clock)


def offered(pairing: Pairing) -> str:
    """Return a new code, which there must be."""
    offer = pairing.offer()
    assert offer
    return offer.code


def wrong(code: str) -> str:
    return f"{(int(code) + 1) % 1_000_000:06}"


# ---- at the front door


def test_the_right_code_pairs_for_good(tmp_path: Path) -> None:
    """The code on the terminal opens the board, and the mark still does after a restart."""
    with RunningBoard(tmp_path, *NETWORK) as board:
        board.wait_for("To pair a tablet")
        status, text, _ = board.pair("000 0000")
        assert (status, "That is not the code" in text) == (403, True)
        status, _, cookie = board.pair(board.newest_code())
        assert status == 303
        assert {"HttpOnly", "SameSite=strict", "Secure"} <= set(cookie.split("; "))
        mark = cookie.partition(";")[0]
        assert words(next(board.events(cookie=mark))[1]["place"]) == "End 1, Shaft 1, Dent 1"
    with RunningBoard(tmp_path, *NETWORK) as board:
        assert words(next(board.events(cookie=mark))[1]["place"]) == "End 1, Shaft 1, Dent 1"
    kept = tmp_path / "tablets.json"
    assert kept.stat().st_mode & 0o077 == 0
    assert mark.partition("=")[2] not in kept.read_text()


def test_a_code_pairs_one_tablet(tmp_path: Path) -> None:
    """A used code is none; opening the page for pairing has another one told at the loom."""
    with RunningBoard(tmp_path, *NETWORK) as board:
        board.wait_for("To pair a tablet")
        first = board.newest_code()
        assert board.request("GET", "/pair")[0] == 200
        assert board.pair(first)[0] == 303
        assert board.count("To pair a tablet") == 1
        assert board.pair(first)[0] == 403
        board.wait_for_count("To pair a tablet", 2)
        assert board.pair(board.newest_code())[0] == 303


def test_guessing_is_told_to_the_guesser_and_the_loom(tmp_path: Path) -> None:
    """The page says that codes are not looked at now, with the terminal that somebody guesses."""
    with RunningBoard(tmp_path, *NETWORK) as board:
        told = [board.pair("nothing")[:2] for _ in range(TRIES + 1)]
        board.wait_for("5 wrong codes came from 127.0.0.1, to pair a tablet.")
    assert [status for status, _ in told] == [403] * TRIES + [429]
    assert "Too many wrong codes" in told[-1][1]


def test_a_forgotten_tablet_is_shut_out_at_once(tmp_path: Path) -> None:
    """`companion tablets` names those that are paired, and forgets one under a running board."""
    with RunningBoard(tmp_path, *NETWORK) as board:
        board.wait_for("To pair a tablet")
        _, _, cookie = board.pair(board.newest_code(), "loom by the <b>window")
        mark = {"Cookie": cookie.partition(";")[0]}
        assert board.request("GET", "/", headers=mark)[0] == 200
        looking = board.events(cookie=cookie.partition(";")[0])
        next(looking)
        listed = run(tmp_path, "tablets").stdout
        assert listed.startswith("loom by the <b>window: paired ")
        unknown = run(tmp_path, "tablets", "--forget", "nobody")
        assert (unknown.returncode, unknown.stderr) == (
            2,
            "Expected the name of a paired tablet: loom by the <b>window.\n",
        )
        gone = run(tmp_path, "tablets", "--forget", "loom by the <b>window")
        assert gone.stdout == "1 tablet unpaired.\n"
        none = run(tmp_path, "tablets", "--forget", "nobody")
        assert (none.returncode, none.stderr) == (2, "No tablet is paired.\n")
        assert board.request("GET", "/", headers=mark)[0] == 303
        with pytest.raises(ConnectionClosed) as closed:
            list(looking)
        assert closed.value.rcvd is not None
        assert closed.value.rcvd.code == UNPAIRED
    assert run(tmp_path, "tablets").stdout == "No tablet is paired.\n"


def test_a_tablet_cannot_fill_the_disk_with_plans(tmp_path: Path) -> None:
    """After so many plans of one tablet no more are written; what is wrong counts for nothing."""
    with RunningBoard(tmp_path, "--plans", tmp_path) as board:
        assert board.post("/new", "ends=many", FORM)[0] == 422
        told = [board.post("/new", "title=con", FORM) for _ in range(MOST_PLANS + 1)]
    assert [status for status, _ in told] == [200] * MOST_PLANS + [429]
    assert len(list(tmp_path.glob("*.toml"))) == MOST_PLANS


# ---- the rules


def test_guessing_is_slowed_down_for_the_guesser_alone(pairing: Pairing, clock: Clock) -> None:
    """After a few wrong codes none of that address is looked at for a while; others' are."""
    code = offered(pairing)
    judged = [pairing.judge(wrong(code), HERE) for _ in range(TRIES)]
    assert judged == ["wrong"] * (TRIES - 1) + ["closed"]
    assert pairing.judge(code, HERE) == "wait"
    clock.now = WAIT_SECONDS - 0.1
    assert pairing.judge(code, HERE) == "wait"
    assert isinstance(pairing.judge(code, THERE), Offer)
    code = offered(pairing)
    clock.now = WAIT_SECONDS
    assert isinstance(pairing.judge(f" {code[:3]} {code[3:]} ", HERE), Offer)


def test_the_count_of_wrong_codes_begins_anew(pairing: Pairing, clock: Clock) -> None:
    """A right code and a wait that is over both forgive what was wrong before."""
    for _ in range(3):
        code = offered(pairing)
        assert {pairing.judge(wrong(code), HERE) for _ in range(TRIES - 1)} == {"wrong"}
        assert isinstance(pairing.judge(code, HERE), Offer)
    code = offered(pairing)
    for _ in range(2):
        judged = [pairing.judge(wrong(code), HERE) for _ in range(TRIES)]
        assert judged == ["wrong"] * (TRIES - 1) + ["closed"]
        clock.now += WAIT_SECONDS


def test_a_code_is_void_after_its_time_or_many_guesses(pairing: Pairing, clock: Clock) -> None:
    """Guesses from many addresses wear a code out, and so does time; those at the next are new."""
    code = offered(pairing)
    assert pairing.offer() is None
    for guess in range(MOST_WRONG):
        pairing.judge(wrong(code), f"10.0.0.{guess}")
    assert pairing.judge(code, HERE) == "wrong"
    code = offered(pairing)
    assert pairing.judge(wrong(code), HERE) == "wrong"
    clock.now = CODE_SECONDS - 0.1
    assert pairing.offer() is None
    clock.now = CODE_SECONDS
    assert pairing.judge(code, HERE) == "wrong"
    assert pairing.offer()


@pytest.mark.parametrize("typed", ["", "12345", "1234567", "abcdef", "\u0661\u0662\u0663"])
def test_another_code_is_wrong(pairing: Pairing, typed: str) -> None:
    """Only the six digits themselves open the board, and before one is offered nothing does."""
    assert pairing.judge(typed, HERE) == "wrong"
    pairing.offer()
    assert pairing.judge(typed, HERE) == "wrong"


def test_codes_are_six_digits_and_differ() -> None:
    """A code can be said and typed, a token fits a small QR code; neither is the same each time."""
    offers = [new_offer() for _ in range(50)]
    assert all(re.fullmatch(r"\d{6} [A-Z2-7]{12}", " ".join(offer[:2])) for offer in offers)
    assert len({offer.code for offer in offers}) > 40
    assert len({offer.token for offer in offers}) == 50


def test_a_token_pairs_once_and_its_code_goes_with_it(pairing: Pairing, clock: Clock) -> None:
    """Either of the two uses up both, and both end at the same time."""
    for used in (0, 1):
        offer = pairing.offer()
        assert offer
        assert isinstance(pairing.judge(offer[used], HERE), Offer)
        assert pairing.judge(offer[1 - used], HERE) == "wrong"
    offer = pairing.offer()
    assert offer
    assert pairing.judge(offer.token.lower(), HERE) == "wrong"
    clock.now = CODE_SECONDS
    assert pairing.judge(offer.token, THERE) == "wrong"


def test_each_loom_has_a_code_of_its_own(pairing: Pairing, clock: Clock) -> None:
    """Codes of several looms hold beside each other, and each says what its tablet may open."""
    codes = {reach: pairing.offer(reach) for reach in ("window", "door", TEACHER)}
    assert all(pairing.offer(reach) is None for reach in codes)
    for reach, offer in codes.items():
        assert offer
        judged = pairing.judge(offer.code, HERE)
        assert isinstance(judged, Offer)
        assert judged.reach == reach
    printed = pairing.offer_to_print("window")
    assert pairing.judge(printed.code, HERE) == "wrong"
    clock.now = PRINTED_SECONDS - 1
    assert isinstance(pairing.judge(printed.token, HERE), Offer)
    assert pairing.judge(printed.token, HERE) == "wrong"
    late = pairing.offer_to_print("window")
    clock.now += PRINTED_SECONDS
    assert pairing.judge(late.token, HERE) == "wrong"


def test_several_codes_are_void_after_fewer_guesses(pairing: Pairing) -> None:
    """Four codes are guessed four times as soon, so they last for a quarter of the guesses."""
    offers = [pairing.offer(reach) for reach in "abcd"]
    typed = next(f"{n:06}" for n in range(9) if f"{n:06}" not in {o.code for o in offers if o})
    for guess in range(MOST_WRONG // 4):
        assert all(pairing.held(reach) for reach in "abcd")
        pairing.judge(typed, f"10.0.0.{guess}")
    assert not any(pairing.held(reach) for reach in "abcd")


@pytest.mark.parametrize(
    ("reach", "path", "may"),
    [
        ("window", "/loom/window/", True),
        ("window", "/loom/window/line", True),
        ("window", "/loom/door/", False),
        ("window", "/loom/windows/", False),
        ("window", "/loom/", False),
        ("window", "/loom", False),
        ("window", "/looms/", False),
        ("window", "/looms/window/stop", False),
        ("window", "/", True),
        ("window", "/board.js", True),
        (BOARD, "/loom//", False),
        (BOARD, "/loom/window/", False),
        (BOARD, "/looms/", False),
        (BOARD, "/line", True),
        (TEACHER, "/looms/", True),
        (TEACHER, "/loom/door/line", True),
    ],
)
def test_a_device_reaches_its_own_loom_and_a_teacher_all(reach: str, path: str, may: bool) -> None:  # noqa: FBT001
    assert may_reach(reach, path) == may


def test_a_mark_ends_at_the_server(tmp_path: Path, clock: Clock) -> None:
    """A browser that keeps its cookie for longer is not let in with it."""
    tablets = Tablets(tmp_path / "tablets.json", clock)
    mark = tablets.pair()
    clock.now = KEPT_SECONDS - 1
    assert [each.name for each in tablets.all()] == ["tablet 1"]
    assert tablets.find(mark)
    clock.now = KEPT_SECONDS
    assert tablets.find(mark) is None
    assert tablets.all() == ()


def test_a_mark_holds_for_its_own_machine_alone(tmp_path: Path) -> None:
    """A mark of another machine's board, or one changed by a letter, is not known."""
    ours, theirs = Tablets(tmp_path / "ours.json"), Tablets(tmp_path / "theirs.json")
    mark = ours.pair()
    assert ours.find(mark)
    assert Tablets(tmp_path / "ours.json").find(mark)
    assert theirs.find(mark) is None
    assert ours.find(mark[:-1] + ("0" if mark[-1] != "0" else "1")) is None
    assert ours.cookie != theirs.cookie


def test_names_are_clean_and_differ(tmp_path: Path) -> None:
    """Control characters go, lengths are bounded, no two tablets have one name."""
    tablets = Tablets(tmp_path / "tablets.json")
    for name in ("", "", "a\x1b[31m\u202eb\n", "a [31m b", "w" * 300):
        tablets.pair(name)
    names = [each.name for each in tablets.all()]
    assert names == ["tablet 1", "tablet 2", "a [31m b", "a [31m b 1", "w" * 36]


def test_the_list_is_bounded(tmp_path: Path) -> None:
    """The tablets paired longest ago make room."""
    tablets = Tablets(tmp_path / "tablets.json")
    marks = [tablets.pair() for _ in range(MOST_TABLETS + 1)]
    assert tablets.find(marks[0]) is None
    assert tablets.find(marks[1])


@pytest.mark.parametrize("text", ["", "{}", '{"server": 1}', "[" * 9000, '{"server":"../../xx"}'])
def test_a_damaged_list_is_told(tmp_path: Path, text: str) -> None:
    """A file that is not what we wrote is not trusted, and the line says what to do."""
    path = tmp_path / "tablets.json"
    path.write_text(text)
    with pytest.raises(CompanionError, match="is damaged"):
        Tablets(path)


def test_a_list_damaged_meanwhile_lets_nobody_in(tmp_path: Path) -> None:
    """What cannot be read opens nothing, and deleting it is a new beginning."""
    path = tmp_path / "tablets.json"
    pairing = Pairing(Tablets(path))
    assert pairing.tablets is not None
    cookies = {pairing.tablets.cookie: pairing.tablets.pair()}
    path.write_text("?")
    assert pairing.find(cookies) is None
    path.unlink()
    assert pairing.find(cookies) is None
    assert pairing.find({pairing.tablets.cookie: pairing.tablets.pair()})


@pytest.mark.parametrize("title", ["Con", "NUL", "aux", "PRN", "com1", "LPT9", "com\u00b2"])
def test_no_plan_has_the_name_of_a_device(tmp_path: Path, title: str) -> None:
    """A folder of plans can be taken to Windows (Microsoft, "Naming Files, Paths, and
    Namespaces")."""
    assert free_path(tmp_path, title).name.startswith("plan-")
    assert free_path(tmp_path, f"{title} warp").name.startswith(title[:2].lower())
