"""Equality of spread against handbook values and R."""

import pytest

from workbench.inference.means.welch import Summary
from workbench.inference.spreads.equality import (
    bartlett,
    brown_forsythe,
    fligner_killeen,
    variance_ratio,
)

# NIST/SEMATECH e-Handbook 1.3.5.10, GEAR.DAT (public NIST file): gear diameters, ten batches.
GEARS = (
    "1.006 0.996 0.998 1.000 0.992 0.993 1.002 0.999 0.994 1.000",
    "0.998 1.006 1.000 1.002 0.997 0.998 0.996 1.000 1.006 0.988",
    "0.991 0.987 0.997 0.999 0.995 0.994 1.000 0.999 0.996 0.996",
    "1.005 1.002 0.994 1.000 0.995 0.994 0.998 0.996 1.002 0.996",
    "0.998 0.998 0.982 0.990 1.002 0.984 0.996 0.993 0.980 0.996",
    "1.009 1.013 1.009 0.997 0.988 1.002 0.995 0.998 0.981 0.996",
    "0.990 1.004 0.996 1.001 0.998 1.000 1.018 1.010 0.996 1.002",
    "0.998 1.000 1.006 1.000 1.002 0.996 0.998 0.996 1.002 1.006",
    "1.002 0.998 0.996 0.995 0.996 1.004 1.004 0.998 0.999 0.991",
    "0.991 0.995 0.984 0.994 0.997 0.997 0.991 0.998 1.004 0.997",
)


def sprays(printed) -> dict[str, list[float]]:
    return {name: printed[f"sprays_{name}"] for name in "ABCDEF"}


def test_gear_diameters() -> None:
    """W = 1.705910 about the medians (to 2e-5); about the means it would be 2.159, p 0.032."""
    batches = {str(i): [float(x) for x in row.split()] for i, row in enumerate(GEARS)}
    found = brown_forsythe(batches)
    assert found.statistic == pytest.approx(1.705910, abs=2e-5)
    assert (found.between_degrees_of_freedom, found.within_degrees_of_freedom) == (9, 90)
    assert found.p_value == pytest.approx(0.0991, abs=5e-5)


def test_ceramic_strength() -> None:
    """NIST/SEMATECH e-Handbook 1.3.5.9, from its printed counts and deviations (from memory).

    Interval 0.8709873652 to 1.4480270657: R 4.2.2, var.test.
    """
    found = variance_ratio(Summary(n=240, mean=0, sd=65.54909), Summary(n=240, mean=0, sd=61.85425))
    assert found.estimate == pytest.approx(1.123037, abs=1e-6)
    assert found.p_value() == pytest.approx(0.3703829, abs=5e-6)
    interval = found.interval()
    assert (interval.low, interval.high) == pytest.approx((0.87098737, 1.44802707), rel=1e-6)


def test_insect_sprays(printed_by_r) -> None:
    """R help: Fligner-Killeen 14.483, p 0.01282; Bartlett 25.96, p 9.085e-05."""
    printed = printed_by_r("several_families")
    families = sprays(printed)
    for test, name in (
        (fligner_killeen, "sprays_fligner_p"),
        (bartlett, "sprays_bartlett_p"),
        (brown_forsythe, "sprays_median_F_p"),
    ):
        found = test(families)
        assert (found.statistic, found.p_value) == pytest.approx(printed[name], rel=1e-8)
