"""Plans and WIF files with slips in them, read as `companion check` reads; many more in a bench."""

from __future__ import annotations

from slips import PLANS, WIF_FILES, judge_plan, judge_wif, outcomes


def test_plans_with_slips_are_read_or_refused() -> None:
    """Whatever slips, nothing but a plan or a report comes of it, and both do come."""
    texts = [path.read_text(encoding="utf-8") for path in sorted(PLANS.glob("*.toml"))]
    found = outcomes(150, 1, texts, judge_plan)
    assert found.total() == 150
    assert {"read", "refused for one fault"} <= set(found)


def test_wif_files_with_slips_are_read_or_refused() -> None:
    """The same of drafts."""
    texts = [path.read_text(encoding="utf-8", errors="replace") for path in sorted(WIF_FILES)]
    found = outcomes(150, 2, texts, judge_wif)
    assert found.total() == 150
    assert {"read", "refused for one fault"} <= set(found)
