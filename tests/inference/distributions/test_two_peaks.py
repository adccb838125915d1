"""One population or two: error rate, power, peaks counted, and blocks respected."""

import math

import numpy as np
import pandas as pd
import pytest
from scipy.signal import find_peaks

from workbench.errors import Refusal
from workbench.inference.distributions.fit import fit_distribution
from workbench.inference.distributions.grouped_goodness import grouping_of
from workbench.inference.distributions.mixture import peaks
from workbench.inference.distributions.readings import Readings
from workbench.inference.distributions.two_peaks import two_peaks


def test_one_normal_is_seldom_taken_for_two() -> None:
    """By p of 99 replicates, which keeps its level exactly at both shares."""
    rng = np.random.default_rng(1)
    p = [
        two_peaks(Readings.of(rng.normal(4.6, 0.3, 30)), seed=1, replicates=99).p_value
        for _ in range(50)
    ]
    for share in (0.05, 0.5):
        seen = np.mean(np.array(p) <= share)
        assert abs(seen - share) < 4 * math.sqrt(share * (1 - share) / 50)


def test_two_pours_are_told_apart_with_their_shares_and_means() -> None:
    rng = np.random.default_rng(2)
    values = np.concatenate([rng.normal(4.2, 0.1, 120), rng.normal(4.7, 0.1, 80)])
    found = two_peaks(Readings.of(np.round(values, 2), step=0.01), seed=1, replicates=499)
    assert found.p_value == pytest.approx(1 / 500)
    assert found.peaks == 2
    for one, true in zip(found.two.parameters, (0.6, 4.2, 0.1, 4.7, 0.1), strict=True):
        assert abs(one.estimate - true) < 4 * one.standard_error, one


def test_a_unit_and_a_mirror_change_nothing() -> None:
    values = np.random.default_rng(3).gamma(4, 0.3, 60)
    plain, inches, mirrored = (
        two_peaks(Readings.of(x), seed=5, replicates=199)
        for x in (values, values / 25.4, 9 - values)
    )
    assert inches.gain == pytest.approx(plain.gain, rel=1e-6)
    assert mirrored.gain == pytest.approx(plain.gain, rel=1e-6)
    assert inches.p_value == pytest.approx(plain.p_value, abs=0.01)


@pytest.mark.parametrize("apart", [0.5, 1.5, 1.95, 2.05, 3.0, 5.0])
def test_equal_halves_have_two_peaks_beyond_two_deviations(apart) -> None:
    """Two equal normals have two modes when they lie more than two deviations apart (Robertson &
    Fryer, 1969; from memory)."""
    assert peaks(0.5, (0.0, apart), (1.0, 1.0)) == (2 if apart > 2 else 1)


def test_peaks_against_scipy() -> None:
    rng = np.random.default_rng(4)
    x = np.linspace(-8, 12, 40_001)
    for _ in range(40):
        share, apart, s1, s2 = rng.uniform([0.1, 0.3, 0.3, 0.3], [0.9, 5, 1.5, 1.5])
        height = share / s1 * np.exp(-0.5 * (x / s1) ** 2)
        height += (1 - share) / s2 * np.exp(-0.5 * ((x - apart) / s2) ** 2)
        assert peaks(share, (0.0, apart), (s1, s2)) == len(find_peaks(height)[0])


def test_blocks_are_no_second_population() -> None:
    """A few blocks far apart make clumps of readings; drawn as alike, that is nothing unusual."""
    alarms = {"alone": 0, "grouped": 0}
    for seed in range(15):
        rng = np.random.default_rng(seed)
        block = np.repeat(np.arange(8), 20)
        value = np.round(4.6 + 0.3 * rng.standard_normal(8)[block] + rng.normal(0, 0.1, 160), 2)
        table = pd.DataFrame({"block": block, "value": value})
        cells = table.groupby(["block", "value"], as_index=False).size()
        cells = cells.rename(columns={"size": "n"})
        cells = cells.assign(low=cells["value"] - 0.005, high=cells["value"] + 0.005)
        readings = Readings.of(cells["value"], cells["n"], step=0.01)
        grouping = grouping_of(cells, fit_distribution(readings, "normal"), ["block"])
        for name, groups in (("alone", None), ("grouped", grouping)):
            p = two_peaks(readings, seed=1, replicates=99, grouping=groups).p_value
            alarms[name] += p <= 0.05
    assert alarms["alone"] >= 7
    assert alarms["grouped"] <= 4


def test_refusals() -> None:
    with pytest.raises(Refusal, match="from 19 readings: five parameters want at least 20"):
        two_peaks(Readings.of(np.arange(19.0)), seed=1)
    with pytest.raises(Refusal, match="50 drawn samples give no usable p"):
        two_peaks(Readings.of(np.arange(30.0)), seed=1, replicates=50)
