"""The bootstrap against printed examples, closed forms and R's boot."""

import numpy as np
import pytest

from workbench.inference.resampling.blocks import bootstrap_blocks
from workbench.inference.resampling.means import bootstrap_mean

# Efron & Tibshirani (1993), chapter 14, spatial test data A (read in a public test; from memory).
SPATIAL = (
    48, 36, 20, 29, 42, 42, 20, 42, 22, 41, 45, 14, 6, 0, 33, 28, 34, 4, 32, 24, 47, 41, 24, 26,
    30, 41,
)  # fmt: skip

# Davison & Hinkley (1997), example 1.1: hours between failures (from memory; R boot::aircondit).
HOURS = (3, 5, 7, 18, 43, 85, 91, 98, 100, 130, 230, 487)

# Davies & Goldsmith (1972), Dyestuff; R lme4::Dyestuff: six batches of five.
DYESTUFF = (
    (1545, 1440, 1440, 1520, 1580),
    (1540, 1555, 1490, 1560, 1495),
    (1595, 1550, 1605, 1510, 1560),
    (1445, 1440, 1595, 1465, 1545),
    (1595, 1630, 1515, 1635, 1625),
    (1520, 1455, 1450, 1480, 1445),
)


def plug_in_variance(values, axis):
    return values.var(axis=axis)


def error_of_mean(values, axis):
    return values.std(axis=axis, ddof=1) / np.sqrt(values.shape[axis])


def spread_log_ratio(own, other, axis):
    return np.log(own.std(axis=axis, ddof=1) / other.std(axis=axis, ddof=1))


def test_variance_of_spatial_data() -> None:
    """Book: 171.5, a 0.061, BCa 115.8 to 259.6 with 2000 draws; many draws give 261.4 above."""
    found = bootstrap_blocks(SPATIAL, plug_in_variance, seed=1, resamples=100_000)
    assert found.estimate == pytest.approx(171.5, abs=0.05)
    assert found.acceleration == pytest.approx(0.061, abs=5e-4)
    assert found.bias_correction == pytest.approx(0.178, abs=0.015)
    bca, percentile = found.interval(0.90), found.interval(0.90, "percentile")
    assert (bca.low, bca.high) == pytest.approx((115.8, 261.4), abs=1.5)
    assert (percentile.low, percentile.high) == pytest.approx((100.8, 233.9), abs=4)


def test_air_conditioning() -> None:
    """Book (from memory): mean 108.083, plug-in error 37.65, a 0.0938, BCa 56.9 to 226.3."""
    found = bootstrap_blocks(HOURS, np.mean, seed=2, resamples=100_000)
    assert found.estimate == pytest.approx(108.083, abs=5e-4)
    assert found.standard_error == pytest.approx(37.65, abs=0.4)
    assert found.acceleration == pytest.approx(0.0938, abs=5e-5)
    bca = found.interval()
    assert (bca.low, bca.high) == pytest.approx((56.9, 226.3), abs=1.5)


def test_air_conditioning_without_drawing() -> None:
    """The limit of ever more draws: 57.0 to 226 (R boot and numpy, 400 000 draws and more)."""
    found = bootstrap_mean(HOURS)
    bca, percentile = found.interval(), found.interval(0.95, "percentile")
    assert found.standard_error == pytest.approx(37.65, abs=5e-3)
    assert found.acceleration == pytest.approx(0.0938, abs=5e-5)
    assert (bca.low, bca.high) == pytest.approx((57.0, 226.0), abs=0.5)
    assert (percentile.low, percentile.high) == pytest.approx((46.83, 191.08), abs=0.2)


def test_air_conditioning_against_r(printed_by_r) -> None:
    printed = printed_by_r("resampling")
    found = bootstrap_blocks(
        HOURS, np.mean, seed=3, resamples=100_000, standard_error=error_of_mean
    )
    for method, allowed in (("percentile", 1.0), ("bca", 2.5), ("studentised", 3.0)):
        interval = found.interval(0.95, method)
        assert (interval.low, interval.high) == pytest.approx(
            printed[f"aircondit_{method}"], abs=allowed
        )


def test_ratio_of_spreads_against_r(printed_by_r) -> None:
    printed = printed_by_r("resampling")
    found = bootstrap_blocks(
        (printed["plants_trt1"], printed["plants_trt2"]),
        spread_log_ratio,
        seed=4,
        resamples=100_000,
    )
    assert found.estimate == pytest.approx(printed["spread_log_ratio"][0])
    for method in ("percentile", "bca"):
        interval = found.interval(0.90, method)
        expected = printed[f"spread_{method}_90"]
        assert (interval.low, interval.high) == pytest.approx(expected, abs=0.015)


def test_whole_batches_drawn_anew() -> None:
    """Identity: the error of draws of k batch means is sqrt(sum (m - mean)^2) / k, 17.694 here.

    The model's own error is 19.383 (printed by R lme4): draws of few batches spread too little by
    sqrt((k - 1) / k). Draws of single readings would say 11.3.
    """
    batches = np.array(DYESTUFF, dtype=float)
    found = bootstrap_blocks(batches.mean(axis=1), np.mean, seed=5, resamples=20_000)
    assert found.standard_error == pytest.approx(17.694, abs=0.3)
    assert found.standard_error == pytest.approx(19.383 * np.sqrt(5 / 6), abs=0.3)
    readings = bootstrap_blocks(batches.ravel(), np.mean, seed=5, resamples=20_000)
    assert readings.standard_error == pytest.approx(11.316, abs=0.2)
