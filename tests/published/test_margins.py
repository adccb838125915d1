"""Margin tests and their power against printed examples and R."""

import math

import pytest

from workbench.claims.rules import decide
from workbench.inference.means.margin_power import equivalence_power, superiority_power
from workbench.inference.means.pooled import pooled
from workbench.inference.means.welch import Summary, welch
from workbench.inference.shares.count import Count
from workbench.inference.shares.difference import share_difference


def test_equivalence_from_a_printed_table() -> None:
    """Lakens (2017), Soc. Psychol. Personal. Sci. 8, 355-362: margins of 0.43 average sd.

    Inputs read in a package's manual page; t(181) = -2.69, p = .004 from memory of the paper.
    """
    own, other = Summary(n=95, mean=5.25, sd=0.95), Summary(n=89, mean=5.22, sd=0.83)
    margin = 0.43 * math.sqrt((own.sd**2 + other.sd**2) / 2)
    apart = welch(own, other)
    within = decide(apart, direction="same", margin=margin, confidence=0.95)
    assert margin == pytest.approx(0.384, abs=5e-4)
    assert apart.degrees_of_freedom == pytest.approx(181.13, abs=5e-3)
    assert apart.statistic(-margin) == pytest.approx(3.15, abs=5e-3)
    assert apart.statistic(margin) == pytest.approx(-2.69, abs=5e-3)
    assert within.p_value == pytest.approx(0.004, abs=5e-4)
    assert (within.inner.low, within.inner.high) == pytest.approx((-0.187, 0.247), abs=5e-4)
    assert within.outcome == "supported"
    assert apart.p_value() == pytest.approx(0.820, abs=5e-4)


def test_not_equivalent_example() -> None:
    """Six against six, margin 1, of a public package's documentation (from memory)."""
    apart = pooled([4, 7, 8, 6, 3, 2], [6, 8, 7, 10, 11, 9])
    within = decide(apart, direction="same", margin=1, confidence=0.95)
    assert within.p_value == pytest.approx(0.965097, abs=5e-7)
    assert within.outcome != "supported"


def test_share_not_worse() -> None:
    """Rodary et al. (1989): 83 of 88 against 69 of 76, ten points; p 0.00155 recomputed."""
    apart = share_difference(Count(yes=83, of=88), Count(yes=69, of=76))
    tested = decide(apart, direction="greater", margin=-0.10, confidence=0.99)
    assert tested.p_value / 2 == pytest.approx(0.00155, abs=5e-6)
    assert tested.outcome == "supported"
    assert tested.interval.low > -0.10


def test_power_of_two_one_sided_tests() -> None:
    """Diletti et al. (1991): 40 subjects, CV 30 %; digits read in a public package's example."""

    def power(cv: float, n: int) -> float:
        return equivalence_power(
            difference=math.log(0.95),
            low=math.log(0.80),
            high=math.log(1.25),
            standard_error=math.sqrt(math.log(1 + cv**2)) * math.sqrt(2 / n),
            degrees_of_freedom=n - 2,
        )

    assert power(0.30, 40) == pytest.approx(0.815845, abs=5e-7)
    assert power(0.20, 20) == pytest.approx(0.834680, abs=5e-7)
    assert power(0.30, 38) < 0.80 < power(0.30, 40)


def test_power_against_r(printed_by_r) -> None:
    printed = printed_by_r("effects")
    for name, difference, low, high, error, df in (
        ("tost_small", 0.1, -0.5, 0.4, 0.2, 6),
        ("tost_hopeless", 0.0, -0.2, 0.2, 0.2, 4),
    ):
        found = equivalence_power(
            difference=difference,
            low=low,
            high=high,
            standard_error=error,
            degrees_of_freedom=df,
        )
        assert found == pytest.approx(printed[name][0], rel=1e-8)
    for name, n, difference, sd, confidence in (
        ("power_17", 17, 1.0, 1.0, 0.95),
        ("power_6_90", 6, 0.8, 0.7, 0.90),
    ):
        found = superiority_power(
            difference=difference,
            margin=0,
            standard_error=sd * math.sqrt(2 / n),
            degrees_of_freedom=2 * n - 2,
            confidence=confidence,
        )
        assert found == pytest.approx(printed[name][0], abs=1e-8)
