"""Tests of fit against printed statistics, critical points and R (r/goodness.txt)."""

import numpy as np
import pytest
from scipy.special import ndtr

from workbench.inference.distributions.cells import laid_out
from workbench.inference.distributions.draws import drawn
from workbench.inference.distributions.edf import (
    anderson_darling,
    anderson_darling_cells,
    chi_square,
    cramer_von_mises,
    cramer_von_mises_cells,
    kolmogorov_smirnov,
    kolmogorov_smirnov_cells,
)
from workbench.inference.distributions.fit import fit_distribution
from workbench.inference.distributions.goodness import goodness_of_fit
from workbench.inference.distributions.readings import Readings
from workbench.inference.distributions.refits import model_of, refitted

# Bliss (1967), as worked by Stephens in D'Agostino & Stephens (1986), Goodness-of-Fit Techniques,
# chapter 4: weights of 20 chicks (page reference read in public code; printed values from memory).
CHICKS = np.array(
    [156, 162, 168, 182, 186, 190, 190, 196, 202, 210, 214, 220, 226, 230, 230, 236, 236, 242,
     246, 270.0]
)  # fmt: skip
BEARINGS = (
    17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8, 68.64, 68.64,
    68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4,
)  # fmt: skip

# Delignette-Muller & Dutang (2015), J. Stat. Softw. 64(4): servings of ground beef, g.
SERVINGS = (
    30, 10, 20, 24, 20, 24, 40, 20, 50, 30, 26, 44, 25, 20, 40, 100, 30, 80, 50, 40, 20, 50, 50, 50,
    50, 80, 80, 20, 60, 50, 50, 50, 50, 60, 50, 50, 50, 50, 17, 120, 80, 100, 80, 100, 50, 70, 50,
    50, 50, 30, 90, 125, 50, 25, 50, 75, 100, 60, 100, 11.5, 100, 100, 50, 40, 50, 50, 50, 150, 50,
    80, 100, 100, 80, 20, 30, 100, 70, 100, 80, 80, 50, 50, 50, 70, 25, 40, 100, 25, 130, 100, 60,
    60, 100, 50, 50, 50, 50, 50, 50, 100, 30, 50, 50, 50, 100, 50, 50, 75, 25, 20, 75, 50, 50, 100,
    100, 80, 130, 200, 40, 64, 40, 80, 80, 79, 80, 105, 51, 130, 105, 105, 80, 80, 40, 40, 50, 105,
    105, 80, 105, 40, 50, 130, 105, 80, 40, 80, 50, 100, 200, 79, 150, 80, 80, 80, 80, 80, 65, 130,
    40, 80, 80, 80, 130, 51, 130, 80, 80, 130, 51, 25, 79, 80, 50, 51, 50, 105, 80, 80, 130, 130,
    80, 51, 50, 130, 115, 115, 200, 160, 105, 80, 80, 80, 130, 130, 80, 51, 50, 130, 105, 105, 80,
    105, 80, 60, 51, 105, 80, 51, 40, 130, 130, 40, 32, 80, 25, 80, 80, 80, 40, 130, 130, 40, 75,
    40, 80, 80, 150, 52.5, 130, 80, 80, 75, 40, 25.5, 51, 50, 80, 51, 130, 130, 51, 130, 80, 130,
    80, 130, 130, 25.5, 117, 130, 80, 80, 80, 80,
)  # fmt: skip


def statistics(z):
    below = ndtr(z)
    return anderson_darling(below, ndtr(-z)), cramer_von_mises(below), kolmogorov_smirnov(below)


def test_chicks_with_known_and_with_estimated_parameters() -> None:
    """As printed; A2 of known parameters is 1.017 (the data give 1.0168)."""
    a2, w2, d = statistics((CHICKS - 200) / 35)
    assert (a2, w2, d) == pytest.approx((1.017, 0.187, 0.171), abs=5e-4)
    a2, w2, d = statistics((CHICKS - CHICKS.mean()) / CHICKS.std(ddof=1))
    assert (a2, w2, d) == pytest.approx((0.214, 0.034, 0.104), abs=5e-4)
    assert (a2, w2, d) == pytest.approx((0.214174258, 0.0337763165, 0.103722363), abs=1e-8)
    assert a2 * (1 + 0.75 / 20 + 2.25 / 400) == pytest.approx(0.223, abs=5e-4)


def test_normal_points_of_anderson_darling_and_lilliefors() -> None:
    """D'Agostino & Stephens (1986), Table 4.7: 0.631, 0.752, 0.873, 1.035 (from memory).

    Lilliefors' D for n = 20: 0.192, as corrected by Dallal & Wilkinson (1986); the 0.190 of 1967
    was a small simulation.
    """
    z = np.random.default_rng(11).standard_normal((60_000, 20))
    z = np.sort((z - z.mean(axis=1, keepdims=True)) / z.std(axis=1, ddof=1, keepdims=True), axis=1)
    a2, _, d = statistics(z)
    points = np.quantile(a2 * (1 + 0.75 / 20 + 2.25 / 400), [0.9, 0.95, 0.975, 0.99])
    assert points == pytest.approx([0.631, 0.752, 0.873, 1.035], rel=0.02)
    assert np.quantile(d, 0.95) == pytest.approx(0.192, abs=1e-3)


def test_points_of_a_fitted_gumbel_refitted_in_bulk() -> None:
    """A2 (1 + 0.2 / sqrt n): 0.757 as printed, 0.777 simulated for n = 20 with full fits."""
    values = np.log(-np.log1p(-(np.arange(20) + 0.5) / 20))
    fit = fit_distribution(Readings.of(values), "gumbel-minima")
    sample, model = laid_out(fit), model_of(fit)
    samples = drawn(
        sample,
        model.family,
        model.row,
        model.frame,
        count=20_000,
        generator=np.random.default_rng(5),
    )
    rows, _ = refitted(samples, model)
    a2 = samples.distances(model.family, rows, model.frame)["anderson-darling"]
    points = np.quantile(a2 * (1 + 0.2 / np.sqrt(20)), [0.9, 0.95, 0.975, 0.99])
    assert points == pytest.approx([0.653, 0.777, 0.898, 1.057], rel=0.03)


def test_servings_of_ground_beef() -> None:
    """Anderson-Darling and Kolmogorov-Smirnov as printed; recomputed with R to more digits."""
    printed = {
        "weibull-2": (3.573072, 0.139626),
        "gamma": (3.567090, 0.128048),
        "lognormal": (4.543654, 0.149309),
    }
    for family, (a2, d) in printed.items():
        fit = fit_distribution(Readings.of(SERVINGS), family)
        model = model_of(fit)
        found = laid_out(fit).distances(model.family, model.row[None], model.frame)
        assert found["anderson-darling"][0] == pytest.approx(a2, abs=2e-5)
        assert found["kolmogorov-smirnov"][0] == pytest.approx(d, abs=2e-6)


def test_counts_in_cells_against_loops_and_chisq_test_in_r(printed_by_r) -> None:
    """Chest girths by Stigler's counts, against a normal of 39.85 and 2.05."""
    counts = np.array([[3, 19, 81, 189, 409, 753, 1062, 1082, 935, 646, 313, 168, 50, 18, 3, 1.0]])
    edges = (np.arange(33, 48) + 0.5 - 39.85) / 2.05
    shares = np.diff(np.concatenate([[0], ndtr(edges), [1]]))[None]
    found = [
        function(counts, shares)[0]
        for function in (anderson_darling_cells, cramer_von_mises_cells, kolmogorov_smirnov_cells)
    ]
    assert found == pytest.approx(printed_by_r("goodness")["cells"], rel=1e-9)
    assert chi_square(counts, shares) == pytest.approx(
        printed_by_r("goodness")["chi_square"], rel=1e-9
    )


@pytest.mark.parametrize(
    ("name", "family", "values"),
    [
        ("bearings_weibull", "weibull-2", BEARINGS),
        ("bearings_logistic", "logistic", BEARINGS),
        ("chicks_normal", "normal", CHICKS),
    ],
)
def test_bootstrap_p_against_full_refits_in_r(name, family, values, printed_by_r) -> None:
    statistic, p, _ = printed_by_r("goodness")[name]
    fit = fit_distribution(Readings.of(values), family)
    found = goodness_of_fit(fit, seed=1, replicates=4000).test("anderson-darling")
    assert found.statistic == pytest.approx(statistic, abs=2e-4)
    both = np.sqrt(2 * p * (1 - p) / 4000)  # two simulations of 4000
    assert abs(found.p_value - p) < 4 * both
