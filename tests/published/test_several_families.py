"""Several families against certified, handbook and R values."""

import math

import numpy as np
import pytest

from workbench.inference.means.pairwise import dunnett, games_howell, tukey
from workbench.inference.means.pooled import pooled
from workbench.inference.means.several_families import one_way, welch_one_way
from workbench.inference.means.welch import Summary

# NIST/SEMATECH e-Handbook 1.3.5.3, AUTO83B.DAT (public NIST file): miles per gallon.
US = """18 15 18 16 17 15 14 14 14 15 15 14 15 14 22 18 21 21 10 10 11 9 28 25 19 16 17 19 18
14 14 14
14 12 13 13 18 22 19 18 23 26 25 20 21 13 14 15 14 17 11 13 12 13 15 13 13 14 22 28 13 14 13 14
15 12 13 13 14 13 12 13 18 16 18 18 23 11 12 13 12 18 21 19 21 15 16 15 11 20 21 19 15 26 25 16
16 18 16 13 14 14 14 28 19 18 15 15 16 15 16 14 17 16 15 18 21 20 13 23 20 23 18 19 25 26 18 16
16 15 22 22 24 23 29 25 20 18 19 18 27 13 17 13 13 13 30 26 18 17 16 15 18 21 19 19 16 16 16 16
25 26 31 34 36 20 19 20 19 21 20 25 21 19 21 21 19 18 19 18 18 18 30 31 23 24 22 20 22 20 21 17
18 17 18 17 16 19 19 36 27 23 24 34 35 28 29 27 34 32 28 26 24 19 28 24 27 27 26 24 30 39 35 34
30 22 27 20 18 28 27 34 31 29 27 24 23 38 36 25 38 26 22 36 27 27 32 28 31"""
JAPAN = """24 27 27 25 31 35 24 19 28 23 27 20 22 18 20 31 32 31 32 24 26 29 24 24 33 33 32
28 19 32 34 26
30 22 22 33 39 36 28 27 21 24 30 34 32 38 37 30 31 37 32 47 41 45 34 33 24 32 39 35 32 37 38 34
34 32 33 32 25 24 37 31 36 36 34 38 32 38 32"""

# NIST StRD, SiRstv (Ehrstein & Croarkin); certified values read in the file.
SILICON = (
    (196.3052, 196.1240, 196.1890, 196.2569, 196.3403),
    (196.3042, 196.3825, 196.1669, 196.3257, 196.0422),
    (196.1303, 196.2005, 196.2889, 196.0343, 196.1811),
    (196.2795, 196.1748, 196.1494, 196.1485, 195.9885),
    (196.2119, 196.1051, 196.1850, 196.0052, 196.2090),
)

# NIST/SEMATECH e-Handbook 7.4.3.3 and 7.4.7.1 (printed values from memory).
RESISTANCE = {
    "1": (6.9, 5.4, 5.8, 4.6, 4.0),
    "2": (8.3, 6.8, 7.8, 9.2, 6.5),
    "3": (8.0, 10.5, 8.1, 6.9, 9.3),
    "4": (5.8, 3.8, 6.1, 5.6, 6.2),
}

# R datasets: ToothGrowth by dose (0.5, 1, 2) and iris sepal length by species; intervals printed
# by the R package rstatix (from memory).
TEETH = {
    "0.5": """4.2 11.5 7.3 5.8 6.4 10 11.2 11.2 5.2 7 15.2 21.5 17.6 9.7 14.5 10 8.2 9.4 16.5
9.7""",
    "1": """16.5 16.5 15.2 17.3 22.5 17.3 13.6 14.5 18.8 15.5 19.7 23.3 23.6 26.4 20 25.2
25.8 21.2 14.5
27.3""",
    "2": """23.6 18.5 33.9 25.5 26.4 32.5 26.7 21.5 23.3 29.5 25.5 26.4 22.4 24.5 24.8 30.9
26.4 27.3 29.4
23""",
}
IRIS = {
    "setosa": """5.1 4.9 4.7 4.6 5 5.4 4.6 5 4.4 4.9 5.4 4.8 4.8 4.3 5.8 5.7 5.4 5.1 5.7 5.1
5.4 5.1 4.6 5.1 4.8
5 5 5.2 5.2 4.7 4.8 5.4 5.2 5.5 4.9 5 5.5 4.9 4.4 5.1 5 4.5 4.4 5 5.1 4.8 5.1 4.6 5.3 5""",
    "versicolor": """7 6.4 6.9 5.5 6.5 5.7 6.3 4.9 6.6 5.2 5 5.9 6 6.1 5.6 6.7 5.6 5.8 6.2
5.6 5.9 6.1 6.3 6.1 6.4
6.6 6.8 6.7 6 5.7 5.5 5.5 5.8 6 5.4 6 6.7 6.3 5.6 5.5 5.5 6.1 5.8 5 5.6 5.7 5.7 6.2 5.1 5.7""",
    "virginica": """6.3 5.8 7.1 6.3 6.5 7.6 4.9 7.3 6.7 7.2 6.5 6.4 6.8 5.7 5.8 6.4 6.5 7.7
7.7 6 6.9 5.6 7.7 6.3
6.7 7.2 6.2 6.1 6.4 7.2 7.4 7.9 6.4 6.3 6.1 7.7 6.3 6.4 6 6.9 6.7 6.9 5.8 6.8 6.7 6.7 6.3 6.5
6.2 5.9""",
}

# Dunnett (1955), table 1: blood counts. Steel's cases below are quoted in the tests of scipy, with
# p-values and limits computed by R multcomp (glht).
BLOOD = {
    "control": (7.40, 8.50, 7.20, 8.24, 9.84, 8.32),
    "A": (9.76, 8.80, 7.68, 9.36),
    "B": (12.80, 9.68, 12.16, 9.20, 10.55),
}
THREE = {"control": (55, 47, 48), "a": (55, 64, 64), "b": (55, 49, 52), "c": (50, 44, 41)}
LUNGS = {
    "control": (2.9, 3.0, 2.5, 2.6, 3.2),
    "a": (3.8, 2.7, 4.0, 2.4),
    "b": (2.8, 3.4, 3.7, 2.2, 2.0),
}
SINGLE = {
    "control": """18 15 18 16 17 15 14 14 14 15 15 14 15 14 22 18 21 21 10 10 11 9 25 26 17.5 16
15.5 14.5 22 22 24 22.5 29 24.5 20 18 18.5 17.5 26.5 13 16.5 13 13 13 28 27 34 31 29 27 24 23 38 36
25 38 26 22 36 27 27 32 28 31""",
    "t": "24 27 33 32 28 19 37 31 36 36 34 38 32 38 32",
    "w": "26 24 26 25 29 29.5 16.5 36 44",
    "x": "25 27 19",
    "y": "25 20",
    "z": "28",
}


def numbers(text: str) -> list[float]:
    return [float(word) for word in text.split()]


def named(texts: dict[str, str]) -> dict[str, list[float]]:
    return {name: numbers(text) for name, text in texts.items()}


def test_pooled_cars() -> None:
    found = pooled(numbers(US), numbers(JAPAN))
    assert found.statistic() == pytest.approx(-12.62059, abs=5e-6)
    assert found.degrees_of_freedom == 326
    assert found.standard_error / math.sqrt(1 / 249 + 1 / 79) == pytest.approx(6.34260, abs=5e-6)


def test_pooled_not_equivalent_example() -> None:
    """Six against six, differences of the documentation of a public package (from memory)."""
    found = pooled([4, 7, 8, 6, 3, 2], [6, 8, 7, 10, 11, 9])
    assert found.degrees_of_freedom == 10
    assert found.p_above(-1) == pytest.approx(0.965097, abs=5e-7)


def test_silicon_certified() -> None:
    found = one_way({str(i): row for i, row in enumerate(SILICON)})
    assert found.ss_between == pytest.approx(5.11462616000000e-02, abs=1e-12)
    assert found.ss_within == pytest.approx(2.16636560000000e-01, abs=1e-12)
    assert found.statistic == pytest.approx(1.18046237440255, abs=1e-11)
    assert found.share_between == pytest.approx(1.90999039051129e-01, abs=1e-12)
    assert found.residual_sd == pytest.approx(1.04076068334656e-01, abs=1e-12)


@pytest.mark.parametrize(("level", "allowed"), [(1, 1e-12), (1e6, 1e-9), (1e12, 2e-3)])
def test_accuracy_ladder(level: float, allowed: float) -> None:
    """NIST StRD SmLs01, 04, 07 (Simon & Lesage 1989): F is 21 at any level.

    At 10^12 the decimals are not representable in double, so no program can come closer than
    about 1e-3; R prints 21.0005.
    """
    first, even, odd = (0.4, 0.3, 0.5), (0.3, 0.2, 0.4), (0.5, 0.4, 0.6)
    steps = [first, *[even, odd] * 4]
    families = {
        str(place): [level + a, *[level + b, level + d] * 10]
        for place, (a, b, d) in enumerate(steps)
    }
    found = one_way(families)
    assert found.statistic == pytest.approx(21.0, rel=allowed)
    if level == 1:
        assert (found.ss_between, found.ss_within) == pytest.approx((1.68, 1.80), abs=1e-12)


def test_resistance_handbook() -> None:
    found = one_way({name: RESISTANCE[name] for name in "123"})
    assert found.ss_between == pytest.approx(27.897, abs=5e-4)
    assert found.ss_within == pytest.approx(17.452, abs=5e-4)
    assert found.statistic == pytest.approx(9.59, abs=5e-3)


def test_tukey_handbook() -> None:
    """Limits within 0.006: the handbook rounds q to 4.05."""
    printed = {
        ("2", "1"): (0.29, 4.47),
        ("3", "1"): (1.13, 5.31),
        ("4", "1"): (-1.93, 2.25),
        ("3", "2"): (-1.25, 2.93),
        ("4", "2"): (-4.31, -0.13),
        ("4", "3"): (-5.15, -0.97),
    }
    for pair in tukey(RESISTANCE):
        found = pair.interval()
        expected = printed[pair.candidate, pair.reference]
        assert (found.low, found.high) == pytest.approx(expected, abs=6e-3)


def test_plants_against_r(printed_by_r) -> None:
    printed = printed_by_r("several_families")
    plants = {name: printed[f"plants_{name}"] for name in ("ctrl", "trt1", "trt2")}
    plain, welch = one_way(plants), welch_one_way(plants)
    assert (plain.statistic, plain.p_value, plain.ss_between, plain.ss_within) == pytest.approx(
        printed["plants_one_way_F_p_ssb_ssw"], rel=1e-8
    )
    assert (
        welch.statistic,
        welch.between_degrees_of_freedom,
        welch.within_degrees_of_freedom,
        welch.p_value,
    ) == pytest.approx(printed["plants_welch_F_df1_df2_p"], rel=1e-8)


def test_uneven_plants_against_r(printed_by_r) -> None:
    printed = printed_by_r("several_families")
    plants = {
        "ctrl": printed["plants_ctrl"][:4],
        "trt1": printed["plants_trt1"],
        "trt2": printed["plants_trt2"][:7],
    }
    welch = welch_one_way(plants)
    assert (
        welch.statistic,
        welch.between_degrees_of_freedom,
        welch.within_degrees_of_freedom,
        welch.p_value,
    ) == pytest.approx(printed["uneven_welch_F_df1_df2_p"], rel=1e-8)
    for pair in tukey(plants):
        found = pair.interval()
        expected = printed[f"uneven_tukey_{pair.candidate}-{pair.reference}"]
        assert (pair.estimate, found.low, found.high, pair.p_value()) == pytest.approx(
            expected, abs=1e-6
        )
    pairs = dunnett(plants, "ctrl")
    assert [p.estimate for p in pairs] == pytest.approx(printed["uneven_dunnett_estimates"])
    assert [p.p_value() for p in pairs] == pytest.approx(printed["uneven_dunnett_p"], abs=2e-5)
    assert [p.interval().low for p in pairs] == pytest.approx(
        printed["uneven_dunnett_low"], abs=2e-4
    )
    assert [p.interval().high for p in pairs] == pytest.approx(
        printed["uneven_dunnett_high"], abs=2e-4
    )


def test_dunnett_blood_counts() -> None:
    """Deterministic: p 0.0058254 where random integration gives 0.0058 to 0.0059."""
    a, b = dunnett(BLOOD, "control")
    assert (a.statistic(), b.statistic()) == pytest.approx((0.857, 3.694), abs=5e-4)
    assert (a.p_value(), b.p_value()) == pytest.approx((0.6201020, 0.0058254), abs=5e-8)
    assert (a.p_above(0), b.p_above(0)) == pytest.approx((0.3249776, 0.0029139), abs=1e-7)
    assert (a.p_below(0), b.p_below(0)) == pytest.approx((0.91676, 0.99984), abs=1e-5)
    assert (a.interval().low, a.interval().high) == pytest.approx((-1.256, 2.556), abs=5e-4)
    assert (b.interval().low, b.interval().high) == pytest.approx((0.840, 4.416), abs=5e-4)


@pytest.mark.parametrize(
    ("families", "two_sided", "greater"),
    [
        (THREE, (0.036407, 0.896539, 0.409295), (0.018277, 0.521109, 0.981892)),
        (LUNGS, (0.58317, 0.99819), (0.30225, 0.69115)),
        (
            named(SINGLE),
            (4.727e-06, 0.022346, 0.97912, 0.99953, 0.86579),
            (2e-06, 0.011217, 0.768500, 0.896991, 0.577211),
        ),
    ],
    ids=["three", "lungs", "single"],
)
def test_dunnett_against_multcomp(families, two_sided, greater) -> None:
    """The quoted p come from random integration with default settings: good to about 3e-4."""
    pairs = dunnett(families, "control")
    assert [pair.p_value() for pair in pairs] == pytest.approx(two_sided, abs=3e-4)
    assert [pair.p_above(0) for pair in pairs] == pytest.approx(greater, abs=3e-4)


def test_dunnett_against_finer_integration(printed_by_r) -> None:
    pairs = dunnett(THREE, "control")
    expected = printed_by_r("several_families")["three_dunnett_p"]
    assert [pair.p_value() for pair in pairs] == pytest.approx(expected, abs=2e-7)


def test_games_howell_teeth() -> None:
    small, large, last = games_howell(named(TEETH))
    printed = ((9.13, 5.692, 12.568), (15.495, 12.288, 18.702), (6.365, 3.194, 9.536))
    for pair, expected in zip((small, large, last), printed, strict=True):
        found = pair.interval()
        assert (pair.estimate, found.low, found.high) == pytest.approx(expected, abs=5.01e-4)
    assert small.p_value() == pytest.approx(3.8e-7, abs=1e-8)
    assert last.p_value() == pytest.approx(5.6e-5, abs=5e-7)


def test_games_howell_iris() -> None:
    printed = ((0.930, 0.7192, 1.1408), (1.582, 1.3362, 1.8278), (0.652, 0.3762, 0.9278))
    pairs = games_howell(named(IRIS))
    for pair, expected in zip(pairs, printed, strict=True):
        found = pair.interval()
        assert (pair.estimate, found.low, found.high) == pytest.approx(expected, abs=5.01e-4)
    assert pairs[2].p_value() == pytest.approx(5.6e-7, abs=1e-8)


def test_a_printed_table_gives_what_the_data_give() -> None:
    values = named(IRIS)
    printed = {
        name: Summary(n=50, mean=float(np.mean(row)), sd=float(np.std(row, ddof=1)))
        for name, row in values.items()
    }
    assert one_way(printed).statistic == pytest.approx(one_way(values).statistic, rel=1e-9)
    assert welch_one_way(printed).p_value == pytest.approx(welch_one_way(values).p_value, rel=1e-6)
    for theirs, ours in zip(games_howell(printed), games_howell(values), strict=True):
        assert theirs.statistic() == pytest.approx(ours.statistic(), rel=1e-9)
