import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.directions.harmonics import harmonic_fit

angles_apart = st.lists(st.integers(0, 11), min_size=4, max_size=9, unique=True).map(
    lambda hours: [30 * hour for hour in hours]
)


def test_three_equally_spaced_angles_in_closed_form() -> None:
    """Sums (2/3) y cos and (2/3) y sin; no reading is left for the scatter."""
    y = np.array([4.1, 4.9, 4.5])
    fit = harmonic_fit([0, 120, 240], y)
    turn = np.radians([0, 120, 240])
    assert fit.coefficients == pytest.approx(
        [y.mean(), 2 / 3 * y @ np.cos(turn), 2 / 3 * y @ np.sin(turn)]
    )
    assert fit.degrees_of_freedom == 0
    with pytest.raises(Refusal, match="leave none to judge"):
        fit.vector()
    stated = fit.vector(variance=0.04)
    assert (stated.vxx, stated.vyy) == pytest.approx((2 * 0.04 / 3, 2 * 0.04 / 3))
    assert stated.degrees_of_freedom == np.inf


@given(angles_apart, st.floats(0, 360), st.floats(-5, 5))
@settings(max_examples=50, deadline=None)
def test_turning_all_angles_turns_the_direction_and_adding_a_constant_leaves_it(
    angles, turn, added
) -> None:
    angles = np.array(angles, dtype=float)
    y = 4 + 0.5 * np.cos(np.radians(angles - 77)) + 0.01 * np.sin(np.arange(angles.size) * 12.3)
    plain, other = harmonic_fit(angles, y), harmonic_fit(angles + turn, y + added)
    assert other.mean == pytest.approx(plain.mean + added)
    assert other.amplitude() == pytest.approx(plain.amplitude())
    assert other.squares == pytest.approx(plain.squares, abs=1e-12)
    around = (other.direction() - plain.direction() - turn + 180) % 360 - 180
    assert around == pytest.approx(0, abs=1e-7)


def test_second_harmonic_of_a_wall_that_is_out_of_round() -> None:
    angles = np.arange(0, 360, 45.0)
    y = 5 + 0.3 * np.cos(np.radians(angles - 20)) + 0.2 * np.cos(2 * np.radians(angles - 65))
    fit = harmonic_fit(angles, y, order=2)
    assert (fit.amplitude(2), fit.direction(2)) == pytest.approx((0.2, 65))
    assert (fit.amplitude(1), fit.direction(1)) == pytest.approx((0.3, 20))
    with pytest.raises(Refusal, match="was not fitted"):
        harmonic_fit(angles, y).amplitude(2)


def test_a_test_of_nothing_is_uniform() -> None:
    rng = np.random.default_rng(7)
    ps = [
        harmonic_fit(np.arange(8) * 45, rng.normal(size=8), order=2).test(2).p_value
        for _ in range(400)
    ]
    assert np.mean(np.array(ps) < 0.1) == pytest.approx(0.1, abs=0.045)


def test_weight_two_is_two_readings_of_the_same_value() -> None:
    angles, y = np.array([0.0, 70, 160, 250, 310]), np.array([4.0, 4.2, 4.7, 4.4, 4.1])
    weighed = harmonic_fit(angles, y, [1, 2, 1, 1, 1])
    repeated = harmonic_fit([*angles, 70], [*y, 4.2])
    assert weighed.coefficients == pytest.approx(repeated.coefficients)
    assert weighed.unscaled == pytest.approx(repeated.unscaled)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="2 distinct angles"):
        harmonic_fit([0, 180, 360], [1, 2, 3])
    with pytest.raises(Refusal, match="5 are needed"):
        harmonic_fit([0, 90, 180, 270], [1, 2, 3, 4], order=2)
    with pytest.raises(Refusal, match="so near each other"):
        harmonic_fit([0, 2, 4], [1, 2, 3])
    with pytest.raises(Refusal, match="3 and 2"):
        harmonic_fit([0, 120, 240], [1, 2, 3], [1, 1])
    with pytest.raises(Refusal, match="above 0"):
        harmonic_fit([0, 120, 240], [1, 2, 3], [1, 0, 1])
    with pytest.raises(Refusal, match="must be finite"):
        harmonic_fit([0, 120, np.nan], [1, 2, 3])
    with pytest.raises(Refusal, match="order"):
        harmonic_fit([0, 120, 240], [1, 2, 3], order=3)
    flat = harmonic_fit([0, 90, 180, 270], [1, 1, 1, 1])
    with pytest.raises(Refusal, match="no test"):
        flat.test(1)
