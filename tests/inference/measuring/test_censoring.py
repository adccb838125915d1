"""Readings at the gauge's lower limit: identities, intervals that hold, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.measuring.censoring import censored_normal

VALUES = np.array([2.0, 2.0, 2.0, 2.31, 2.44, 2.52, 2.60, 2.71, 2.83, 3.02, 3.15, 3.40])
BELOW = np.array([True] * 3 + [False] * 9)


def test_nothing_censored_is_the_plain_likelihood() -> None:
    found = censored_normal(VALUES[3:], np.zeros(9, bool))
    assert found.mean == pytest.approx(VALUES[3:].mean(), rel=1e-9)
    assert found.sd == pytest.approx(VALUES[3:].std(), rel=1e-7)
    assert found.mean_standard_error == pytest.approx(found.sd / 3, rel=1e-6)
    assert found.sd_standard_error == pytest.approx(found.sd / math.sqrt(18), rel=1e-6)
    assert found.correlation == pytest.approx(0.0, abs=1e-6)


def test_unit_and_origin_do_not_matter() -> None:
    here = censored_normal(VALUES, BELOW)
    there = censored_normal(VALUES / 25.4 + 10, BELOW)
    assert (there.mean - 10) * 25.4 == pytest.approx(here.mean, rel=1e-6)
    assert there.sd * 25.4 == pytest.approx(here.sd, rel=1e-6)
    assert there.sd_standard_error * 25.4 == pytest.approx(here.sd_standard_error, rel=1e-5)


def test_order_does_not_matter() -> None:
    turned = censored_normal(VALUES[::-1], BELOW[::-1])
    assert turned.mean == pytest.approx(censored_normal(VALUES, BELOW).mean, rel=1e-8)


def test_the_fit_lies_between_the_two_wrong_ways() -> None:
    found = censored_normal(VALUES, BELOW)
    assert found.mean < VALUES.mean() < VALUES[~BELOW].mean()
    assert found.sd > VALUES.std()


def test_the_likelihood_is_greatest_there() -> None:
    """Moving mean or spread either way lowers the likelihood, written out with scipy.stats."""
    from scipy.stats import norm

    found = censored_normal(VALUES, BELOW)

    def likelihood(mean: float, sd: float) -> float:
        return float(
            norm(mean, sd).logpdf(VALUES[~BELOW]).sum() + norm(mean, sd).logcdf(VALUES[BELOW]).sum()
        )

    best = likelihood(found.mean, found.sd)
    assert best == pytest.approx(found.log_likelihood, rel=1e-10)
    for mean, sd in ((0.01, 0.0), (-0.01, 0.0), (0.0, 0.01), (0.0, -0.01)):
        assert likelihood(found.mean + mean, found.sd + sd) < best


@pytest.mark.parametrize("share", [0.2, 0.5])
def test_intervals_hold_the_truth(share: float) -> None:
    """Simulated at 90 %, 60 readings, a fifth or a half of them at the limit."""
    from scipy.stats import norm

    generator, trials = np.random.default_rng(3), 400
    limit = 5 + float(norm.ppf(share))
    of_mean = of_sd = 0
    for _ in range(trials):
        true = generator.normal(5, 1, 60)
        found = censored_normal(np.maximum(true, limit), true <= limit)
        of_mean += found.mean_interval(0.90).contains(5.0)
        of_sd += found.sd_interval(0.90).contains(1.0)
    allowed = 4 * math.sqrt(0.09 / trials)
    assert of_mean / trials == pytest.approx(0.90, abs=allowed)
    assert of_sd / trials == pytest.approx(0.90, abs=allowed)


def test_nearly_all_at_the_limit_still_fits() -> None:
    found = censored_normal([2.0] * 197 + [2.1, 2.3, 2.6], [True] * 197 + [False] * 3)
    assert found.mean < 2.0
    assert found.seen == 3
    assert found.mean_interval().low < found.mean


def test_what_is_refused() -> None:
    with pytest.raises(Refusal, match="2 of 4 readings are above the limit"):
        censored_normal([2.0, 2.0, 2.5, 2.6], [True, True, False, False])
    with pytest.raises(Refusal, match="All 3 readings above the limit are equal"):
        censored_normal([2.0, 2.5, 2.5, 2.5], [True, False, False, False])
    with pytest.raises(Refusal, match="4 of one and 3 of the other"):
        censored_normal([2.0, 2.5, 2.6, 2.7], [True, False, False])
    with pytest.raises(Refusal, match="holds nan at place 1"):
        censored_normal([math.nan, 2.5, 2.6, 2.7], [False] * 4)
    with pytest.raises(Refusal, match="Confidence must lie between 0 and 1"):
        censored_normal(VALUES, BELOW).mean_interval(1.0)
