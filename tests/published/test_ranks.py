"""Rank tests against printed examples and R."""

import numpy as np
import pytest
from scipy.stats import rankdata

from workbench.inference.adjustment import holm
from workbench.inference.ranks.mann_whitney import mann_whitney, rank_sum_chances
from workbench.inference.ranks.relative_effect import relative_effect
from workbench.inference.ranks.several import dunn, kruskal_wallis

# Hollander & Wolfe (1973), p. 69: permeability of membranes; R wilcox.test help (from memory).
TERM = (0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46)
EARLY = (1.15, 0.88, 0.90, 0.74, 1.21)

# Bergmann, Ludbrook & Spooren (2000), American Statistician 54, 72-77: rotarod endurance.
ROTAROD_CONTROL = (300,) * 12
ROTAROD_TREATED = (22, 300, 75, 271, 300, 18, 300, 300, 163, 300, 300, 300)

# Brunner & Munzel (2000): pain scores; printed digits from R and scipy documentation (memory).
PAIN_USUAL = (1, 2, 1, 1, 1, 1, 1, 1, 1, 1, 2, 4, 1, 1)
PAIN_NEWER = (3, 3, 4, 3, 1, 2, 3, 1, 1, 5, 4)

# Hollander & Wolfe (1973), p. 116; R kruskal.test help (from memory).
LUNGS = {
    "normal": (2.9, 3.0, 2.5, 2.6, 3.2),
    "obstructed": (3.8, 2.7, 4.0, 2.4),
    "asbestosis": (2.8, 3.4, 3.7, 2.2, 2.0),
}


def test_membranes() -> None:
    found = mann_whitney(TERM, EARLY)
    assert found.statistic == 35
    assert found.p_above(0) == pytest.approx(0.1272, abs=5e-5)
    assert found.estimate == pytest.approx(0.305, abs=5e-4)
    interval = found.interval()
    assert (interval.low, interval.high) == pytest.approx((-0.15, 0.76), abs=5e-3)


def test_rotarod_with_heavy_ties() -> None:
    """Exact conditional p 0.0373 (R coin); the paper shows packages disagreeing on these data."""
    found = mann_whitney(ROTAROD_TREATED, ROTAROD_CONTROL)
    assert found.exact
    assert found.p_value() == pytest.approx(0.0373, abs=5e-5)
    assert found.p_below(0) == pytest.approx(0.0186, abs=5e-5)


def test_pain_scores() -> None:
    found = relative_effect(PAIN_NEWER, PAIN_USUAL)
    assert found.statistic() == pytest.approx(3.1375, abs=5e-5)
    assert found.degrees_of_freedom == pytest.approx(17.683, abs=5e-4)
    assert found.p_value() == pytest.approx(0.005786, abs=5e-7)
    assert found.estimate == pytest.approx(0.788961, abs=5e-7)
    interval = found.interval()
    assert (interval.low, interval.high) == pytest.approx((0.5952169, 0.9827052), abs=5e-8)


def test_pain_scores_by_exact_ranks() -> None:
    """R exactRankTests: 0.00669, the sums as far from the middle on either side.

    The same exact distribution gives it; `p_value` doubles the smaller tail instead, so that it
    agrees with the equal-tailed interval, and the two differ where ties make the sums lopsided.
    """
    doubled = np.rint(2 * rankdata(PAIN_NEWER + PAIN_USUAL)).astype(int)
    chances = rank_sum_chances(doubled, len(PAIN_NEWER))
    middle = doubled.mean() * len(PAIN_NEWER)
    far = np.abs(np.arange(chances.size) - middle) >= doubled[:11].sum() - middle
    assert chances[far].sum() == pytest.approx(0.00669, abs=5e-6)
    upper = chances[doubled[:11].sum() :].sum()
    assert mann_whitney(PAIN_NEWER, PAIN_USUAL).p_value() == pytest.approx(2 * upper)


def test_lungs() -> None:
    found = kruskal_wallis(LUNGS)
    assert found.statistic == pytest.approx(0.77143, abs=5e-6)
    assert found.degrees_of_freedom == 2
    assert found.p_value == pytest.approx(0.68, abs=5e-3)


def test_uneven_plants_against_r(printed_by_r) -> None:
    printed = printed_by_r("several_families")
    plants = {
        "ctrl": printed["plants_ctrl"][:4],
        "trt1": printed["plants_trt1"],
        "trt2": printed["plants_trt2"][:7],
    }
    found = kruskal_wallis(plants)
    assert (found.statistic, found.p_value) == pytest.approx(
        printed["uneven_kruskal_H_p"], rel=1e-8
    )


def test_dunn_on_sprays_against_r(printed_by_r) -> None:
    """R's Dunn is written out in the script; Holm's adjustment is R's own."""
    printed = printed_by_r("several_families")
    pairs = dunn({name: printed[f"sprays_{name}"] for name in "ABCDEF"}, holm)
    assert [pair.statistic for pair in pairs] == pytest.approx(printed["sprays_dunn_z"], rel=1e-8)
    assert [pair.adjusted for pair in pairs] == pytest.approx(printed["sprays_dunn_holm"], rel=1e-7)
