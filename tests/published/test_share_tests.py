"""Exact tests of two shares against printed examples and R."""

import pytest

from workbench.inference.shares.count import Count
from workbench.inference.shares.fisher import fisher
from workbench.inference.shares.unconditional import barnard, boschloo

TABLES = {
    "tea": (Count(yes=3, of=4), Count(yes=1, of=4)),
    "vaccine": (Count(yes=7, of=15), Count(yes=12, of=15)),
    "deck": (Count(yes=9, of=22), Count(yes=4, of=48)),
}


def test_tea_tasting() -> None:
    """Fisher (1935), The Design of Experiments; digits from memory, conditional estimate 6.408."""
    tea = fisher(*TABLES["tea"])
    assert (tea.p_value, tea.p_above) == pytest.approx((0.4857, 0.2429), abs=5e-5)
    assert tea.odds_ratio == pytest.approx(6.408, abs=5e-4)
    assert tea.odds_ratio != pytest.approx(9, abs=1)  # the ratio of the four counts


@pytest.mark.parametrize("name", TABLES)
def test_fisher_against_r(name, printed_by_r) -> None:
    printed, tested = printed_by_r("shares"), fisher(*TABLES[name])
    found = tested.interval()
    assert (tested.p_value, tested.p_above, tested.p_below) == pytest.approx(
        printed[f"{name}_p"], rel=1e-9
    )
    assert (tested.odds_ratio, found.low, found.high) == pytest.approx(
        printed[f"{name}_exact"], rel=1e-8
    )
    # R's own search is loose: its upper limit for the tea is 621.9, the exact one 626.2.
    assert (tested.odds_ratio, found.low, found.high) == pytest.approx(
        printed[f"{name}_odds"], rel=0.01
    )


def test_vaccine_trial() -> None:
    """Mehta & Senchaudhuri (2003), Conditional versus unconditional exact tests (from memory)."""
    vaccine = TABLES["vaccine"]
    assert fisher(*vaccine).p_below == pytest.approx(0.0641, abs=5e-5)
    tested = barnard(*vaccine)
    assert tested.statistic == pytest.approx(-1.894, abs=5e-4)
    assert tested.p_below == pytest.approx(0.0341, abs=5e-5)
    assert tested.p_value == pytest.approx(0.0682, abs=5e-5)
    assert boschloo(*vaccine).p_below == pytest.approx(0.0341, abs=5e-5)


def test_job_satisfaction() -> None:
    """Documentation of scipy.stats.boschloo_exact: Fisher 0.0483, Boschloo 0.0356."""
    tested = boschloo(Count(yes=74, of=117), Count(yes=31, of=63))
    assert tested.statistic == pytest.approx(0.0483, abs=5e-5)
    assert tested.p_above == pytest.approx(0.0356, abs=5e-5)
