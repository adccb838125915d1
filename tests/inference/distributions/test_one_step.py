"""Readings of several steps brought to one: the shape stays, and no edge is straddled."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.distributions.fit import fit_distribution
from workbench.inference.distributions.goodness import goodness_of_fit
from workbench.inference.distributions.one_step import one_step, within_window
from workbench.inference.distributions.readings import EVERYWHERE, Readings


def test_one_lattice_is_left_as_it_is() -> None:
    values = np.round(np.random.default_rng(1).normal(4.6, 0.3, 50), 2)
    low, high = one_step(values - 0.005, values + 0.005, np.random.default_rng(2))
    assert low == pytest.approx(values - 0.005, abs=0)
    assert high == pytest.approx(values + 0.005, abs=0)
    exact = one_step(values, values, np.random.default_rng(2))
    assert exact[0] is not None
    assert (exact[0] == values).all()


def test_several_steps_become_the_widest_and_no_reading_moves_far() -> None:
    rng = np.random.default_rng(3)
    centre = rng.normal(4.6, 0.3, 400)
    width = np.where(np.arange(400) % 2, 0.01, 0.0254)
    low, high = one_step(centre - width / 2, centre + width / 2, rng)
    assert high - low == pytest.approx(0.0254)
    lattice = (low / 0.0254) % 1
    assert np.minimum(np.abs(lattice - 0.5), 1) == pytest.approx(0, abs=1e-6)
    assert np.abs((low + high) / 2 - centre).max() <= 0.0254


def test_ends_that_are_open_stay_open_and_meet_the_lattice() -> None:
    low = np.array([-np.inf, 4.0, 4.013, 5.0])
    high = np.array([4.002, 4.01, 4.023, np.inf])
    new_low, new_high = one_step(low, high, np.random.default_rng(1))
    assert np.isneginf(new_low[0])
    assert np.isposinf(new_high[3])
    for edge in (new_high[0], new_low[3]):
        assert abs((edge / 0.01) % 1 - 0.5) < 1e-6
    assert new_high[0] == pytest.approx(4.002, abs=0.005)


def two_calibrations(seed: int, size: int) -> tuple[np.ndarray, np.ndarray]:
    """Draw normal walls and read half of them under either of two calibrations."""
    true = np.random.default_rng(seed).normal(4.6, 0.3, size)
    slope = np.where(np.arange(size) % 2, 1.0031, 0.9957)
    shown = np.round(true * slope + 0.0123, 2)
    return (shown - 0.0173) / slope, (shown - 0.0073) / slope


def test_steps_that_share_no_edges_cannot_be_tested_as_they_stand() -> None:
    fit = fit_distribution(Readings.between(*two_calibrations(1, 5000), np.ones(5000)), "normal")
    with pytest.raises(Refusal, match=r"share no edges|no reading straddles"):
        goodness_of_fit(fit, seed=1)


def test_on_one_step_a_true_fit_is_rarely_rejected() -> None:
    alarms = 0
    for seed in range(20):
        ends = one_step(*two_calibrations(seed, 300), np.random.default_rng(seed))
        fit = fit_distribution(Readings.between(*ends, np.ones(300)), "normal")
        found = goodness_of_fit(fit, seed=seed, replicates=99)
        alarms += found.test("anderson-darling").p_value <= 0.05
    assert alarms <= 4


def test_the_fit_moves_by_next_to_nothing() -> None:
    rng = np.random.default_rng(9)
    true = rng.normal(4.6, 0.3, 2000)
    slope = np.where(np.arange(2000) % 2, 1.0031, 0.9957)
    shown = np.round(true * slope, 2)
    low, high = (shown - 0.005) / slope, (shown + 0.005) / slope
    before = fit_distribution(Readings.between(low, high, np.ones(2000)), "normal").estimates
    after = fit_distribution(
        Readings.between(*one_step(low, high, rng), np.ones(2000)), "normal"
    ).estimates
    assert after["mean"] == pytest.approx(before["mean"], abs=5e-4)
    assert after["sd"] == pytest.approx(before["sd"], abs=5e-4)


@pytest.mark.parametrize(
    ("low", "high"), [([4.0, 4.2], [4.1, 4.1]), ([-np.inf, 4.0], [np.inf, 4.1])]
)
def test_intervals_that_are_none_are_refused(low: list[float], high: list[float]) -> None:
    with pytest.raises(Refusal, match="runs upwards and has a finite end"):
        one_step(low, high, np.random.default_rng(1))


def test_a_window_is_narrowed_to_whole_steps_and_what_straddles_it_is_left_out() -> None:
    centre = np.round(np.arange(4.0, 4.1, 0.01), 2)
    low, high = centre - 0.005, centre + 0.005
    inside, window = within_window(low, high, (4.02, 4.0751))
    assert window == pytest.approx((4.025, 4.075))
    assert centre[inside] == pytest.approx([4.03, 4.04, 4.05, 4.06, 4.07])
    inside, window = within_window(low, high, (4.025, np.inf))  # an edge of the lattice already
    assert window == (pytest.approx(4.025), np.inf)
    assert centre[inside].min() == 4.03


def test_everything_is_within_no_window_and_points_within_their_own() -> None:
    values = np.array([1.0, 2.0, 3.0])
    inside, window = within_window(values, values, (2.0, np.inf))
    assert (list(inside), window) == ([False, True, True], (2.0, np.inf))
    low = np.array([-np.inf, 4.0, 4.01])
    high = np.array([4.0, 4.01, 4.02])
    assert within_window(low, high, EVERYWHERE)[0].all()
    # What is known only from above needs room in the window.
    assert list(within_window(low, high, (4.0, np.inf))[0]) == [False, True, True]
