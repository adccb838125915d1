"""Fits to readings of which nothing was kept beyond a value, against R (truncation.R, .txt)."""

import math

import numpy as np
import pytest

from tests.published.test_distributions import BEARINGS, FIBRES
from workbench.errors import Refusal
from workbench.inference.distributions.fit import Fit, fit_distribution
from workbench.inference.distributions.goodness import goodness_of_fit
from workbench.inference.distributions.profile import quantile_interval
from workbench.inference.distributions.readings import Readings

TESTS = ("anderson-darling", "cramer-von-mises", "kolmogorov-smirnov")


def rounded(witness: dict[str, tuple[float, ...]]) -> Readings:
    """Give the fibres shown from 1.25 to 2.00 in steps of 0.05, as R rounded them."""
    counts = [int(n) for n in witness["rounded_counts"]]
    return Readings.of(witness["rounded_values"], counts, step=0.05, window=(1.225, 2.025))


def errors_of(fit: Fit) -> list[float]:
    return [one.standard_error for one in fit.parameters]


@pytest.mark.parametrize(("family", "name"), [("weibull-2", "weibull"), ("lognormal", "lognormal")])
def test_bearings_kept_from_forty_on(printed_by_r, family: str, name: str) -> None:
    witness = printed_by_r("truncation")
    *numbers, log_likelihood = witness[f"bearings_{name}"]
    kept = [hours for hours in BEARINGS if hours >= 40]
    fit = fit_distribution(Readings.of(kept, window=(40.0, math.inf)), family)
    assert list(fit.estimates.values()) == pytest.approx(numbers[:2], rel=2e-4)
    assert errors_of(fit) == pytest.approx(numbers[2:], rel=2e-3)
    assert fit.log_likelihood == pytest.approx(log_likelihood, abs=1e-6)


def test_the_share_that_would_have_been_kept(printed_by_r) -> None:
    witness = printed_by_r("truncation")
    kept = [hours for hours in BEARINGS if hours >= 40]
    fit = fit_distribution(Readings.of(kept, window=(40.0, math.inf)), "weibull-2")
    assert fit.seen == pytest.approx(witness["bearings_weibull_seen"][0], rel=2e-4)
    normal = fit_distribution(rounded(witness), "normal")
    assert normal.seen == pytest.approx(witness["rounded_normal_seen"][0], rel=1e-4)


@pytest.mark.parametrize(("family", "name"), [("normal", "normal"), ("weibull-2", "weibull")])
def test_rounded_readings_within_a_range(printed_by_r, family: str, name: str) -> None:
    witness = printed_by_r("truncation")
    *numbers, log_likelihood = witness[f"rounded_{name}"]
    fit = fit_distribution(rounded(witness), family)
    assert list(fit.estimates.values()) == pytest.approx(numbers[:2], rel=1e-4)
    assert errors_of(fit) == pytest.approx(numbers[2:], rel=1e-3)
    assert fit.log_likelihood == pytest.approx(log_likelihood, abs=1e-6)


def test_two_gauges_of_which_one_shows_less(printed_by_r) -> None:
    *numbers, log_likelihood = printed_by_r("truncation")["two_gauges_normal"]
    blind = [x for x in FIBRES[:31] if x >= 1.5]
    sharp = Readings.of(FIBRES[31:])
    fit = fit_distribution(Readings.of(blind, window=(1.5, math.inf)).together(sharp), "normal")
    assert list(fit.estimates.values()) == pytest.approx(numbers[:2], rel=1e-5)
    assert errors_of(fit) == pytest.approx(numbers[2:], rel=1e-3)
    assert fit.log_likelihood == pytest.approx(log_likelihood, abs=1e-6)
    with pytest.raises(Refusal, match="seen through several ranges are not tested together"):
        goodness_of_fit(fit, seed=1)


def test_the_interval_of_a_value_that_may_lie_where_nothing_was_kept(printed_by_r) -> None:
    witness = printed_by_r("truncation")
    found = quantile_interval(fit_distribution(rounded(witness), "normal"), 0.05, 0.95)
    estimate, low, high = witness["rounded_normal_quantile"]
    assert found.estimate == pytest.approx(estimate, abs=1e-4)
    assert (found.low, found.high) == pytest.approx((low, high), abs=2e-4)
    assert found.low < 1.225


def test_tests_of_fit_against_the_truncated_distribution(printed_by_r) -> None:
    """Statistics as goftest has them; p within four standard errors of two bootstraps."""
    witness = printed_by_r("truncation")
    seen = [x for x in FIBRES if x > 1]
    fit = fit_distribution(Readings.of(seen, window=(1.0, math.inf)), "normal")
    found = goodness_of_fit(fit, seed=3, replicates=1999)
    statistics = [found.test(name).statistic for name in TESTS]
    assert statistics == pytest.approx(witness["fit_statistics"], rel=1e-3)
    for name, p in zip(TESTS, witness["fit_p"], strict=True):
        slack = 4 * math.sqrt(2 * p * (1 - p) / 2000)
        assert found.test(name).p_value == pytest.approx(p, abs=slack)


def test_the_share_below_among_what_was_kept_is_the_truncated_distribution(printed_by_r) -> None:
    from scipy.stats import truncnorm

    fit = fit_distribution(rounded(printed_by_r("truncation")), "normal")
    mean, sd = fit.estimates["mean"], fit.estimates["sd"]
    ends = [(end - mean) / sd for end in (1.225, 2.025)]
    x = np.linspace(1.1, 2.1, 21)
    expected = truncnorm.cdf(x, *ends, loc=mean, scale=sd)
    assert fit.share_of_seen_below(x) == pytest.approx(expected, abs=1e-12)
