"""Best fits with a figure at a value: closed forms, and the two ways to an interval agree."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import chdtri
from scipy.stats import weibull_min

from workbench.inference.distributions.fit import Fit, fit_distribution
from workbench.inference.distributions.profile import quantile_interval, share_below_interval
from workbench.inference.distributions.readings import Readings
from workbench.inference.distributions.sprung import best_with, end_of, error_of


def normal_fit(values: np.ndarray) -> Fit:
    return fit_distribution(Readings.of(values), "normal")


def test_of_a_normal_mean_the_profile_is_that_of_the_text_book() -> None:
    """Held at m the best variance is that about m: the likelihood falls by n/2 log(1 + t^2)."""
    values = np.random.default_rng(1).normal(4.5, 0.3, 40)
    fit, n = normal_fit(values), values.size
    mean, sd = values.mean(), values.std()

    def figure(rows: np.ndarray) -> np.ndarray:
        return fit.likelihood.family.quantile(np.array([[0.5]]), rows, fit.likelihood.frame)[:, 0]

    assert error_of(fit, figure) == pytest.approx(sd / math.sqrt(n), rel=1e-4)
    for value in (4.3, 4.55, 5.5):
        row, depth = best_with(fit, figure, value, fit.maximum.at)
        assert figure(row[None])[0] == pytest.approx(value, abs=1e-5 * sd)
        fell = n * math.log(1 + ((value - mean) / sd) ** 2)
        assert depth == pytest.approx(math.sqrt(fell), rel=1e-4)
    reach = math.sqrt(chdtri(1, 0.05))
    end = end_of(fit, figure, mean, sd / math.sqrt(n), reach, 1)
    assert end == pytest.approx(mean + sd * math.sqrt(math.expm1(reach**2 / n)), rel=1e-6)


def test_no_fit_has_a_figure_out_of_reach() -> None:
    """A scale is never below 0, however hard it is pulled."""
    fit = normal_fit(np.random.default_rng(2).normal(4.5, 0.3, 40))

    def spread(rows: np.ndarray) -> np.ndarray:
        return fit.likelihood.family.natural(rows, fit.likelihood.frame)[:, 1]

    assert best_with(fit, spread, -0.1, fit.maximum.at)[1] == math.inf


@pytest.mark.parametrize(("confidence", "below"), [(0.9, 0.05), (0.95, 0.3), (0.95, 0.01)])
def test_a_share_beyond_the_end_of_a_fit_is_that_whose_quantile_reaches_the_limit(
    confidence: float, below: float
) -> None:
    """No reading of the fit lies below its end; what agrees with the readings goes further."""
    values = np.round(3 + np.random.default_rng(3).weibull(2.5, 60), 2)
    fit = fit_distribution(Readings.of(values, step=0.01), "gev-minima")
    limit = float(fit.quantile([1e-12])[0]) - below
    found = share_below_interval(fit, limit, confidence)
    assert (found.estimate, found.low) == (0.0, 0.0)
    assert 0 < found.high < 0.1
    assert quantile_interval(fit, found.high, confidence).low == pytest.approx(limit, abs=2e-4)


def test_a_share_below_a_sharp_edge_is_as_far_up_as_the_likelihood_says() -> None:
    """Waiting times: the end of the fit ran up to the least of them; scipy's density as witness."""
    values = 5 - 0.3 * np.log1p(-(np.arange(80) + 0.5) / 80)
    limit = values.min() - 0.0003
    fit = fit_distribution(Readings.of(values), "weibull-3")
    found = share_below_interval(fit, limit)
    assert (found.estimate, found.low) == (0.0, 0.0)

    def unlikely(logs: np.ndarray) -> float:
        shape, scale = np.exp(logs)
        end = limit - weibull_min.ppf(found.high, shape, 0, scale)
        return -float(weibull_min.logpdf(values, shape, end, scale).sum())

    least = minimize(unlikely, [0.1, -1.4], method="Nelder-Mead", options={"fatol": 1e-9}).fun
    assert 2 * (fit.log_likelihood + least) == pytest.approx(chdtri(1, 0.05), abs=2e-3)
