"""Lengths and yarns in a plan: read, told wrong, worked out, printed, and asked for by command."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner
from plan_texts import PLAN, problems_of
from small_plans import make_plan, straight

from companion.base.errors import CompanionError, PlanError
from companion.cli.yarn import yarn
from companion.loom.compute import compute, compute_text
from companion.out.report import report
from companion.plan.file.reader import parse_plan, read_plan

FOLDER = Path(__file__).parent.parent / "plans"
TWILL = """
[tie_up]
shed = "rising"
treadles = ["1-2", "2-3", "3-4", "1-4"]
[[treadling]]
picks = "1 to 4"
"""
LENGTH = """
[length]
finished = 30
pieces = 4
hem = 1
take_up = "10 %"
shrinkage = "10 %"
loom_waste = 30
"""
WEFT = """
[weft]
picks_per_inch = 10
take_up = "20 %"
"""
COTTON = """
[[yarn]]
use = "warp"
size = "8/2 cotton"
"""


def lines_of(text: str) -> list[str]:
    """Return what a plan comes to, as printed."""
    return list(report(compute(parse_plan(text, "plan.toml"))))


def starting(lines: list[str], start: str) -> list[str]:
    """Return the lines that begin so."""
    return [line for line in lines if line.startswith(start)]


def test_a_plan_without_lengths_is_as_it_was() -> None:
    """Nothing is computed and nothing is printed."""
    dressing = compute(parse_plan(PLAN, "plan.toml"))
    assert dressing.yarns is None
    assert not any("yarn" in line.lower() or "Warp length" in line for line in report(dressing))


def test_the_length_is_printed_with_what_it_goes_into() -> None:
    """4 x 32 / 0.9 / 0.9 + 30 = 188.02 in, wound as 189 in, which is 5 1/4 yd (by hand)."""
    lines = lines_of(PLAN + LENGTH)
    assert "Warp length: about 188.02 in, so wind 189 in, 5 1/4 yd." in lines
    assert "Of that: 4 pieces of about 39.51 in, 30 in loom waste." in lines
    assert starting(lines, "Weave about 35.56 in for each piece, measured off the loom")
    assert "Ends to wind: 4." in lines


def test_the_length_in_metric_is_of_centimetres() -> None:
    """The same figures in centimetres are wound in quarters of a metre."""
    text = PLAN.replace('units = "inch"', 'units = "metric"') + LENGTH
    assert "Warp length: about 188.02 cm, so wind 200 cm, 2 m." in lines_of(text)


def test_warp_is_reckoned_as_wound_and_weft_as_woven() -> None:
    """4 ends of 189 in are 21 yd; 4 x 32 / 0.9 in at 10 picks are 1423 picks of 0.4 / 0.8 in."""
    yarns = COTTON + COTTON.replace("warp", "weft")
    lines = lines_of(PLAN + LENGTH + WEFT + yarns)
    assert starting(lines, "Warp yarn") == ["Warp yarn, 8/2 cotton: 4 ends, 21 yd, 1 oz."]
    assert starting(lines, "Weft yarn") == ["Weft yarn, 8/2 cotton: 1423 picks, 20 yd, 1 oz."]


def test_weights_are_rounded_up_in_the_plans_own_units() -> None:
    """21 yd at 10 yd in a pound are 2.1 lb, 2 lb 1.6 oz; 8 m at 10 m in a kilogram are 800 g."""
    heavy = COTTON.replace("8/2 cotton", "10 yd/lb")
    assert starting(lines_of(PLAN + LENGTH + heavy), "Warp yarn")[0].endswith("21 yd, 2 lb 2 oz.")
    metric = PLAN.replace('units = "inch"', 'units = "metric"') + LENGTH
    heavy = COTTON.replace("8/2 cotton", "10 m/kg")
    assert starting(lines_of(metric + heavy), "Warp yarn")[0].endswith("8 m, 800 g.")


def test_picks_may_be_counted_by_the_centimetre() -> None:
    """4 x 32 / 0.9 cm at 5 picks in each are 712 picks."""
    metric = PLAN.replace('units = "inch"', 'units = "metric"') + LENGTH
    weft = WEFT.replace("picks_per_inch = 10", "picks_per_cm = 5")
    lines = lines_of(metric + weft + COTTON.replace("warp", "weft"))
    assert starting(lines, "Weft yarn")[0].startswith("Weft yarn, 8/2 cotton: 712 picks,")


def test_colours_have_their_own_yarn_and_the_rest_the_other() -> None:
    """Floating selvedges count with the colour at their edge, 1 + 1 to white and to blue."""
    plan = make_plan(
        straight(8),
        drafted={"colours": ("white",) * 5 + ("blue",) * 3},
        selvedges={"floating": 1},
        length={"finished": 10, "take_up": "0 %", "shrinkage": "0 %", "loom_waste": 26},
        yarn=[
            {"use": "warp", "colour": "blue", "size": "2/20 worsted"},
            {"use": "warp", "size": "8/2 cotton"},
        ],
    )
    yarns = compute(plan).yarns
    assert yarns is not None
    assert yarns.ends == {"white": 6, "blue": 4}
    assert [(each.colour, each.threads) for each in yarns.needs] == [("blue", 4), ("", 6)]
    assert yarns.needs[0].need.metres == 4 * Fraction("0.9144")  # 36 in is one yard each
    assert yarns.without == {}


def test_ends_without_a_yarn_are_named() -> None:
    """A colour that was forgotten would be missed at the winding board."""
    plan = make_plan(
        straight(8),
        drafted={"colours": ("white",) * 5 + ("blue",) * 3},
        length={"finished": 10, "take_up": "0 %", "shrinkage": "0 %", "loom_waste": 26},
        yarn=[{"use": "warp", "colour": "white", "size": "8/2 cotton"}],
    )
    assert "No yarn is given for the 3 ends of blue." in list(report(compute(plan)))


def test_wefts_take_turns() -> None:
    """Three picks of the one to one of the other, by their shares."""
    yarns = COTTON.replace("warp", "weft")
    lines = starting(
        lines_of(PLAN + LENGTH + WEFT + yarns + "share = 3\n" + yarns + 'colour = "blue"\n'),
        "Weft yarn",
    )
    assert [line.partition(": ")[2].partition(",")[0] for line in lines] == [
        "1068 picks",
        "356 picks",
    ]


def test_the_sett_is_held_against_the_closest_of_the_plans_own_weave() -> None:
    """8/2 cotton in 2/2 twill: 34.78 (faena, 1999, prints 34, cut off), and 10 is 29 % of it."""
    sett = starting(lines_of(PLAN + TWILL + LENGTH + COTTON), "Sett of")
    assert len(sett) == 1
    assert "29 % of the closest in this weave, which is about 34.78 ends per inch" in sett[0]
    assert not starting(lines_of(PLAN + LENGTH + COTTON), "Sett of")


def test_the_factor_of_the_rule_is_the_weavers() -> None:
    """With 0.92, which groundweave.com gives for cotton, it comes to 35.55 (by hand)."""
    sett = starting(lines_of(PLAN + TWILL + LENGTH + COTTON + "sett_k = 0.92\n"), "Sett of")
    assert "about 35.55 ends per inch by Ashenhurst's rule (K 0.92, " in sett[0]


@pytest.mark.parametrize(
    ("tables", "problem", "mend"),
    [
        (LENGTH.replace('"10 %"', "0.10", 1), "length.take_up: expected a share", '"10 %"'),
        (LENGTH.replace('"10 %"', "10", 1), "length.take_up: expected a share", '"10 %"'),
        (LENGTH.replace('"10 %"', '"0.1"', 1), "length.take_up: expected a share", '"10 %"'),
        (LENGTH.replace("loom_waste = 30", ""), "loom_waste, a number of 0 or more", "loom_waste"),
        (LENGTH.replace("pieces = 4", "pieces = 0"), "length.pieces: expected", "pieces = 4"),
        (LENGTH.replace("hem = 1", "hems = 1"), "a key that belongs to [length]", "Write hem"),
        (LENGTH + COTTON.replace("8/2", "2/8"), "yarn.1.size: expected cotton", "8/2 cotton"),
        (LENGTH + COTTON.replace("8/2 cotton", "20/2"), "yarn.1.size: expected", "cotton"),
        (LENGTH + COTTON + "share = 2\n", "expected share on a weft yarn alone", "[[yarn]]"),
        (LENGTH + COTTON + 'package = "8"\n', "yarn.1.package: expected a cone's", "8 oz"),
        (LENGTH + COTTON + COTTON, "yarn.2: expected one warp yarn", "Keep one"),
        (LENGTH + COTTON.replace("warp", "weft"), "yarn.1: expected [weft]", "Add [weft]"),
        (COTTON, "yarn: expected [length]", "Add [length]"),
        (WEFT, "weft: expected [length]", "Add [length]"),
        (LENGTH + WEFT + "picks_per_cm = 4\n", "picks once", "picks_per_inch = 12"),
    ],
)
def test_what_is_wrong_is_told_with_its_place_and_its_mend(
    tables: str, problem: str, mend: str
) -> None:
    """One problem each, in the report that every other mistake of a plan goes to."""
    found = problems_of(PLAN + tables)
    assert len(found) == 1
    assert problem in found[0]
    assert mend in found[0]
    assert found[0].startswith("line ")


def test_mistakes_of_yarn_and_of_threading_are_told_together() -> None:
    """The one report holds them all, in the order of the file."""
    found = problems_of(
        PLAN.replace('block = "A"', 'block = "B"') + LENGTH + COTTON.replace("8/2", "2/8")
    )
    assert len(found) == 2
    assert "threading" in found[0]
    assert "yarn.1.size" in found[1]


@pytest.mark.parametrize(
    ("tables", "problem"),
    [
        (COTTON + 'colour = "red"\n', "yarn.1.colour: expected ends of white or blue"),
        (
            COTTON.replace("8/2 cotton", "30 tex")
            + "".join(f'{COTTON}colour = "{colour}"\n' for colour in ("white", "blue")),
            "yarn.1: expected ends for this yarn",
        ),
    ],
)
def test_a_warp_yarn_without_ends_is_a_contradiction(tables: str, problem: str) -> None:
    """Told with the warp, since only there are the colours known."""
    colours = """
[[colours]]
colour = "white"
ends = 3
[[colours]]
colour = "blue"
ends = 1
"""
    plan = parse_plan(PLAN + colours + LENGTH + tables, "plan.toml")
    with pytest.raises(PlanError) as caught:
        compute(plan)
    assert len(caught.value.problems) == 1
    assert problem in str(caught.value.problems[0])


def test_colours_that_do_not_come_out_are_not_told_as_missing_too() -> None:
    """The warp has ends of blue; there are only more ends of colour than ends."""
    runs = "".join(f'[[colours]]\ncolour = "{each}"\nends = 4\n' for each in ("white", "blue"))
    with pytest.raises(PlanError) as caught:
        compute_text(f'{PLAN}\n{runs}{LENGTH}{COTTON}colour = "blue"\n', "plan.toml")
    assert [problem.path for problem in caught.value.problems] == [("colours",)]


@pytest.mark.parametrize("name", ["striped-towels", "point-runner"])
def test_demo_plans_come_to_lengths_and_yarn(name: str) -> None:
    """Warp and weft are worked out, no ends are without a yarn, and the sett is one that fits."""
    dressing = compute(read_plan(FOLDER / f"{name}.toml"))
    yarns = dressing.yarns
    assert yarns is not None
    assert {each.use for each in yarns.needs} == {"warp", "weft"}
    assert yarns.without == {}
    assert sum(yarns.ends.values()) == len(dressing.ends) + 2 * dressing.sley.floating
    assert yarns.wind >= yarns.length.total
    assert all(dressing.sett < each.sett for each in yarns.setts)


def asked(*words: str) -> str:
    """Return what the command prints; it must go well."""
    done = CliRunner().invoke(yarn, words, catch_exceptions=False)
    assert done.exit_code == 0
    return done.output


def refused(*words: str) -> str:
    """Return the line of a command that must be refused."""
    error = CliRunner().invoke(yarn, words).exception
    assert isinstance(error, CompanionError)
    assert "\n" not in str(error)
    return str(error)


def test_a_size_is_converted_by_command() -> None:
    """To one system, or to all of them."""
    assert asked("convert", "8/2 cotton", "--to", "tex") == "8/2 cotton is about 147.64 tex.\n"
    everything = asked("convert", "10 cotton")
    assert "  15 worsted\n" in everything  # ASTM D2260, first example
    assert "  8400 yd/lb\n" in everything


def test_a_sett_is_asked_for_by_size_by_wraps_and_by_plan() -> None:
    """The weave comes from its figures or from a plan's own drawdown, which here is 2/2 twill."""
    by_figures = asked("sett", "8/2 cotton", "--weave", "2/2")
    assert "about 34.78 ends per inch" in by_figures
    assert "Working sett, 75 % of it: about 26.08 ends" in by_figures
    plan = str(FOLDER / "point-runner.toml")
    assert asked("sett", "8/2 cotton", "--plan", plan) == by_figures
    assert "14 ends in the same width" in asked("sett", "--wraps", "28", "--weave", "plain")
    assert "about 53.33 threads" in asked("sett", "8/2 cotton", "--weave", "plain", "--k", "0.92")


def test_a_change_of_weave_is_asked_for_by_command() -> None:
    """Taylor's example."""
    line = asked("firmness", "103", "--from", "plain", "--to", "2/2")
    assert line == "103 in plain is as firm as about 137.33 in 2/2.\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("convert", "2/8 cotton"), "8/2 cotton"),
        (("convert", "8/2 cotton", "--to", "silk"), "count system"),
        (("sett", "8/2 cotton"), "--weave"),
        (("sett", "8/2 cotton", "--weave", "2/2", "--plan", "x.toml"), "--weave"),
        (("sett", "--weave", "2/2"), "--wraps"),
        (("sett", "8/2 cotton", "--wraps", "20", "--weave", "2/2"), "either"),
        (("sett", "--wraps", "0", "--weave", "2/2"), "above 0"),
        (("sett", "8/2 cotton", "--weave", "2/2", "--share", "0.75"), '"10 %"'),
        (("sett", "8/2 cotton", "--weave", "2/2", "--k", "soft"), "above 0"),
        (("sett", "8/2 cotton", "--plan", str(FOLDER / "lace-napkins.toml")), "treadling"),
        (("firmness", "many", "--from", "plain", "--to", "2/2"), "above 0"),
    ],
)
def test_a_command_that_cannot_be_followed_is_one_line(words: tuple[str, ...], said: str) -> None:
    """What was expected and what to write."""
    assert said in refused(*words)
