"""Gauge studies and crossed components against handbooks and R."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.inference.measuring.gauge_analysis import gauge_study
from workbench.inference.nested.crossed_fit import crossed_fit

# Automotive Industry Action Group, Measurement Systems Analysis reference manual, chapter III
# section B (data read in public tests, printed results from memory): appraiser, trial, part.
APPRAISERS = np.array(
    [
        [
            [0.29, -0.56, 1.34, 0.47, -0.80, 0.02, 0.59, -0.31, 2.26, -1.36],
            [0.41, -0.68, 1.17, 0.50, -0.92, -0.11, 0.75, -0.20, 1.99, -1.25],
            [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31],
        ],
        [
            [0.08, -0.47, 1.19, 0.01, -0.56, -0.20, 0.47, -0.63, 1.80, -1.68],
            [0.25, -1.22, 0.94, 1.03, -1.20, 0.22, 0.55, 0.08, 2.12, -1.62],
            [0.07, -0.68, 1.34, 0.20, -1.28, 0.06, 0.83, -0.34, 2.19, -1.50],
        ],
        [
            [0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
            [-0.11, -1.13, 1.09, 0.20, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
            [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16],
        ],
    ]
)
APPRAISER, _, PART = np.indices(APPRAISERS.shape).reshape(3, -1)
VALUE = APPRAISERS.ravel()


def test_crossed_study_of_the_manual() -> None:
    study = gauge_study(PART, VALUE, APPRAISER)
    assert study.pooled
    lines = study.mean_squares
    assert lines["operator"].value == pytest.approx(1.58363, abs=5e-6)
    assert lines["part"].value == pytest.approx(9.81799, abs=5e-6)
    printed = {"repeatability": 0.199933, "operator": 0.226838, "part": 1.042327}
    for figure, sd in printed.items():
        assert study.sd(figure) == pytest.approx(sd, abs=1e-6)
    assert study.sd("gauge") == pytest.approx(0.302373, abs=3e-6)
    assert study.sd("total") == pytest.approx(1.085, abs=5e-4)
    percent = {"repeatability": 18.4, "operator": 20.9, "gauge": 27.9, "part": 96.0}
    for figure, of_total in percent.items():
        assert 100 * study.sd(figure) / study.sd("total") == pytest.approx(of_total, abs=0.05)
    contribution = {"repeatability": 3.4, "operator": 4.4, "gauge": 7.8, "part": 92.2}
    for figure, share in contribution.items():
        assert 100 * study.share(figure) == pytest.approx(share, abs=0.05)
    assert math.floor(study.categories()) == 4


def test_interaction_of_the_manual() -> None:
    kept = gauge_study(PART, VALUE, APPRAISER, pool_above=1.0)
    both, rest = kept.mean_squares["part by operator"], kept.mean_squares["repeatability"]
    assert both.value == pytest.approx(0.01994, abs=5e-6)
    assert rest.value == pytest.approx(0.04598, abs=5e-6)
    assert both.value / rest.value == pytest.approx(0.434, abs=5e-4)
    assert kept.negative == ("part by operator",)


def test_crossed_study_of_montgomery() -> None:
    """Montgomery, Design and Analysis of Experiments, 5th ed., example 12-2 (from memory).

    Thermal impedance: 20 parts, 3 operators, 2 readings; components printed 10.28, 0.0149,
    -0.1399 and 0.9917, and 10.25, 0.0106, 0.88 without the interaction.
    """
    rows = """21 20 20 20 19 21;24 23 24 24 23 24;20 21 19 21 20 22;27 27 28 26 27 28;
    19 18 19 18 18 21;23 21 24 21 23 22;22 21 22 24 22 20;19 17 18 20 19 18;24 23 25 23 24 24;
    25 23 26 25 24 25;21 20 20 20 21 20;18 19 17 19 18 19;23 25 25 25 25 25;24 24 23 25 24 25;
    29 30 30 28 31 30;26 26 25 26 25 27;20 20 19 20 20 20;19 21 19 19 21 23;25 26 25 24 25 25;
    19 19 18 17 19 17"""
    y = np.array([row.split() for row in rows.split(";")], dtype=float).reshape(20, 3, 2)
    part, operator, _ = np.indices(y.shape).reshape(3, -1)
    kept = gauge_study(part, y.ravel(), operator, pool_above=1.0)
    printed = {"part": 62.391, "operator": 1.308, "part by operator": 0.712, "repeatability": 0.992}
    for line, value in printed.items():
        assert kept.mean_squares[line].value == pytest.approx(value, abs=5e-4)
    assert kept.components["part"] == pytest.approx(10.28, abs=5e-3)
    assert kept.components["operator"] == pytest.approx(0.0149, abs=5e-5)
    assert kept.negative == ("part by operator",)
    pooled = gauge_study(part, y.ravel(), operator)
    assert pooled.components["part"] == pytest.approx(10.25, abs=5e-3)
    assert pooled.components["operator"] == pytest.approx(0.0106, abs=5e-5)
    assert pooled.components["repeatability"] == pytest.approx(0.88, abs=5e-3)


def test_nested_study_of_pin_diameters() -> None:
    """NIST/SEMATECH e-Handbook 3.2.3.3: 5 machines, 2 operators each, 5 pins (table from memory).

    The handbook prints the mean square of machines cut to 0.0000758 and that of what is left, from
    rounded sums, as 0.0000087; the operators' component is negative by moments.
    """
    pins = """0.125 0.127 0.125 0.126 0.128 0.124 0.128 0.127 0.126 0.129 0.118 0.122 0.120 0.124
    0.119 0.116 0.125 0.119 0.125 0.120 0.123 0.125 0.125 0.124 0.126 0.122 0.121 0.124 0.126 0.125
    0.126 0.128 0.126 0.127 0.129 0.126 0.129 0.125 0.130 0.124 0.118 0.129 0.127 0.120 0.121 0.125
    0.123 0.114 0.124 0.117"""
    machine, shift, _ = np.indices((5, 2, 5)).reshape(3, -1)
    study = gauge_study(shift, [float(x) for x in pins.split()], machine, design="nested")
    lines = study.mean_squares
    assert lines["operator"].value == pytest.approx(0.0000758, abs=5e-8)
    assert lines["part"].value == pytest.approx(0.00000372, abs=5e-9)
    assert lines["repeatability"].value == pytest.approx(0.0000087, abs=6e-8)
    assert lines["operator"].value / lines["part"].value == pytest.approx(20.38, abs=5e-3)
    assert study.negative == ("part",)


def test_rails() -> None:
    """Pinheiro & Bates (2000), 1.1 (R nlme Rail): ultrasonic travel times in six rails, ns.

    Standard deviations as printed there; the exact interval of the share of the rails from R
    (tests/published/r/gauge_study.txt).
    """
    times = [55, 53, 54, 26, 37, 32, 78, 91, 85, 92, 100, 96, 49, 51, 50, 80, 85, 83]
    study = gauge_study(np.repeat(np.arange(6), 3), times)
    assert study.sd("part") == pytest.approx(24.80547, abs=1e-3)
    assert study.sd("repeatability") == pytest.approx(4.020779, abs=5e-7)
    share = study.share_interval("part", generator=np.random.default_rng(1))
    assert share.low == pytest.approx(0.9050662859, abs=0.002)
    assert share.high == pytest.approx(0.9960186169, abs=0.0003)


def test_uneven_study_against_r_lme4() -> None:
    """tests/published/r/gauge_study.txt; readings 4 and 41 (R's count) struck out."""
    keep = ~np.isin(np.arange(VALUE.size), [3, 40])
    study = gauge_study(PART[keep], VALUE[keep], APPRAISER[keep])
    assert study.components["part"] == pytest.approx(1.087212122, rel=1e-5)
    assert study.components["operator"] == pytest.approx(0.051994237, rel=1e-5)
    assert study.components["repeatability"] == pytest.approx(0.040909994, rel=1e-5)
    assert study.negative == ("part by operator",)
    assert study.fit is not None
    assert study.fit.criterion == pytest.approx(29.69213001, abs=1e-7)


def test_uneven_nested_study_against_r_lme4() -> None:
    """tests/published/r/gauge_study.txt: other parts for each appraiser, three readings lost."""
    owned = [range(4), range(3, 7), range(5, 10)]
    mine = np.array([p in owned[a] for p, a in zip(PART, APPRAISER, strict=True)])
    places = np.flatnonzero(mine)[~np.isin(np.arange(mine.sum()), [1, 8, 19])]
    study = gauge_study(PART[places], VALUE[places], APPRAISER[places], design="nested")
    assert study.readings == 36
    assert study.components["part"] == pytest.approx(0.864127208, rel=1e-5)
    assert study.components["operator"] == 0
    assert study.components["repeatability"] == pytest.approx(0.066178626, rel=1e-5)
    assert study.fit is not None
    assert study.fit.criterion == pytest.approx(51.08639967, abs=1e-7)


# Davies & Goldsmith (1972), R lme4 Dyestuff: yield of six batches.
YIELD = """1545 1440 1440 1520 1580 1540 1555 1490 1560 1495 1595 1550 1605 1510 1560 1445 1440 1595
1465 1545 1595 1630 1515 1635 1625 1520 1455 1450 1480 1445"""


def test_dyestuff_against_bates() -> None:
    """Bates, lme4 book draft, chapter 1 (printed values; the profile ends there interpolated)."""
    y = [float(x) for x in YIELD.split()]
    batch = np.repeat(np.arange(6), 5)
    restricted = crossed_fit({"batch": batch}, y)
    assert restricted.variances["batch"] == pytest.approx(1764, abs=0.5)
    assert restricted.variances["residual"] == pytest.approx(2451, abs=0.5)
    assert restricted.criterion == pytest.approx(319.6543, abs=5e-5)
    assert restricted.mean == pytest.approx(1527.5, abs=1e-6)
    assert restricted.mean_standard_error == pytest.approx(19.38, abs=5e-3)
    full = crossed_fit({"batch": batch}, y, criterion="ml")
    assert full.variances["batch"] == pytest.approx(1388.33, abs=5e-3)
    assert full.variances["residual"] == pytest.approx(2451.25, abs=5e-3)
    assert full.criterion == pytest.approx(327.3271, abs=5e-5)
    batches, rest = full.interval(["batch"]), full.interval(["residual"])
    ends = [math.sqrt(v) for v in (batches.low, batches.high, rest.low, rest.high)]
    assert ends == pytest.approx([12.1986, 84.0631, 38.2300, 67.6577], abs=0.003)


def test_penicillin_against_bates() -> None:
    """Davies & Goldsmith (1972), R lme4 Penicillin: 24 plates crossed with 6 samples.

    Bates, lme4 book draft, chapter 2; the printed 3.7309 allows for the optimiser (3e-4).
    """
    rows = """27 23 26 23 23 21;27 23 26 23 23 21;25 21 25 24 24 20;26 23 25 23 23 20;
    25 22 26 22 23 20;24 22 25 23 22 19;24 20 23 21 22 19;26 22 26 24 24 21;
    24 21 24 22 22 20;24 21 24 23 22 19;26 23 26 24 24 21;25 22 26 24 24 20;
    26 24 26 24 25 22;26 23 26 23 23 20;26 23 25 24 24 22;25 22 25 23 23 20;
    25 21 24 23 23 20;25 22 24 23 23 19;24 21 23 21 21 19;26 23 26 24 24 21;
    25 21 24 22 22 18;25 22 25 22 22 20;24 21 24 22 24 19;24 21 24 22 21 18"""
    y = np.array([row.split() for row in rows.split(";")], dtype=float)
    plate, sample = np.indices(y.shape).reshape(2, -1)
    fit = crossed_fit({"plate": plate, "sample": sample}, y.ravel())
    assert fit.variances["plate"] == pytest.approx(0.7169, abs=5e-5)
    assert fit.variances["sample"] == pytest.approx(3.7309, abs=3e-4)
    assert fit.variances["residual"] == pytest.approx(0.3024, abs=5e-5)
    assert fit.criterion == pytest.approx(330.8606, abs=5e-5)
    assert fit.mean_standard_error == pytest.approx(0.8086, abs=5e-5)
