import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.directions.vector import VectorEstimate, direction_of, unit_vectors

moderate = st.floats(-3, 3, allow_subnormal=False)


def estimate(x=0.3, y=-0.2, vxx=0.01, vxy=0.002, vyy=0.02, df=9.0, whole=False) -> VectorEstimate:
    return VectorEstimate(
        x=x, y=y, vxx=vxx, vxy=vxy, vyy=vyy, degrees_of_freedom=df, whole_matrix=whole, method=""
    )


def turned(vector: VectorEstimate, degrees: float) -> VectorEstimate:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    turn = np.array([[c, -s], [s, c]])
    x, y = turn @ [vector.x, vector.y]
    (vxx, vxy), (_, vyy) = turn @ vector.covariance @ turn.T
    return estimate(x, y, vxx, vxy, vyy, vector.degrees_of_freedom, vector.whole_matrix)


def test_direction_counts_from_the_first_axis_to_the_second() -> None:
    assert [direction_of(*pair) for pair in ((1, 0), (0, 1), (-1, 0), (0, -1))] == [0, 90, 180, 270]
    cosine, sine = unit_vectors(np.array([0.0, 90, 180, 270, 450]))
    assert cosine.tolist() == [1, 0, -1, 0, 0]
    assert sine.tolist() == [0, 1, 0, -1, 1]


@given(moderate, moderate, st.booleans())
@settings(max_examples=60, deadline=None)
def test_a_point_is_in_the_region_exactly_when_p_says_so(x, y, whole) -> None:
    vector = estimate(whole=whole)
    assert vector.region(0.9).contains(x, y) == (vector.p_value(x, y) >= 0.1)


def test_outline_lies_on_the_edge() -> None:
    vector = estimate(whole=True)
    xs, ys = vector.region(0.95).outline(40)
    ps = [vector.p_value(x, y) for x, y in zip(xs, ys, strict=True)]
    assert ps == pytest.approx([0.05] * 41, rel=1e-9)
    assert (xs[0], ys[0]) == pytest.approx((xs[-1], ys[-1]))


@given(moderate, moderate)
@settings(max_examples=60, deadline=None)
def test_size_interval_is_the_least_and_greatest_distance_of_the_outline(x, y) -> None:
    vector = estimate(x, y)
    interval = vector.size_interval(0.95)
    reach = np.hypot(*vector.region(0.95).outline(20_000))
    assert interval.high == pytest.approx(reach.max(), abs=1e-6)
    inside = vector.p_value() >= 0.05
    assert interval.low == (0 if inside else pytest.approx(reach.min(), abs=1e-6))


def test_size_interval_of_a_round_region_is_size_plus_and_minus_its_radius() -> None:
    vector = estimate(0.6, 0.8, 0.01, 0.0, 0.01, df=math.inf)
    radius = math.sqrt(-2 * math.log(0.05)) * 0.1
    interval = vector.size_interval()
    assert (interval.low, interval.high) == pytest.approx((1 - radius, 1 + radius))


def test_direction_interval_of_a_round_covariance_in_closed_form() -> None:
    """Fieller with equal variances: sin(half) = t s / size."""
    vector = estimate(0.0, -1.0, 0.01, 0.0, 0.01, df=math.inf)
    interval = vector.direction_interval()
    half = math.degrees(math.asin(1.959963984540054 * 0.1))
    assert (interval.low, interval.high) == pytest.approx((270 - half, 270 + half))


def test_direction_of_a_vector_near_zero_is_not_determined() -> None:
    assert estimate(0.01, 0.02).direction_interval() is None
    assert estimate(0.0, 0.0).direction_interval() is None
    assert estimate(0.01, 0.02).size_interval().low == 0


@given(st.floats(-180, 180), st.booleans())
@settings(max_examples=40, deadline=None)
def test_turning_the_axes_turns_the_answer(degrees, whole) -> None:
    plain, other = estimate(whole=whole), turned(estimate(whole=whole), degrees)
    assert other.p_value() == pytest.approx(plain.p_value(), rel=1e-9)
    assert other.size_interval().low == pytest.approx(plain.size_interval().low, abs=1e-12)
    before, after = plain.direction_interval(), other.direction_interval()
    assert after.half_width == pytest.approx(before.half_width)
    assert (after.low - before.low - degrees) % 360 == pytest.approx(0, abs=1e-7) or (
        after.low - before.low - degrees
    ) % 360 == pytest.approx(360, abs=1e-7)


def test_a_unit_changes_lengths_and_nothing_else() -> None:
    mm = estimate()
    inches = estimate(
        mm.x / 25.4, mm.y / 25.4, mm.vxx / 25.4**2, mm.vxy / 25.4**2, mm.vyy / 25.4**2
    )
    assert inches.p_value() == pytest.approx(mm.p_value(), rel=1e-12)
    assert inches.size_interval().high * 25.4 == pytest.approx(mm.size_interval().high)
    assert inches.direction == pytest.approx(mm.direction)
    assert inches.size_standard_error * 25.4 == pytest.approx(mm.size_standard_error)


def test_what_errors_add_to_the_size_is_taken_off() -> None:
    """E(size^2) = true^2 + trace of the covariance."""
    draws = np.random.default_rng(4).multivariate_normal((0.3, 0.1), np.eye(2) * 0.04, 20_000)
    squares = [estimate(x, y, 0.04, 0, 0.04) for x, y in draws[:4000]]
    assert (draws**2).sum(axis=1).mean() - 0.08 == pytest.approx(0.1, abs=0.005)
    assert all(vector.size_less_error <= vector.size for vector in squares)
    assert estimate(0.3, 0.4, 0.01, 0, 0.02).size_less_error == pytest.approx(math.sqrt(0.22))


def test_refusals() -> None:
    with pytest.raises(Refusal, match="both directions"):
        estimate(vxx=0.01, vyy=0.01, vxy=0.01)
    with pytest.raises(Refusal, match="both directions"):
        estimate(vxx=0.0, vxy=0.0)
    with pytest.raises(Refusal, match="more than 1"):
        estimate(df=1, whole=True)
    with pytest.raises(Refusal, match="finite"):
        estimate(x=math.nan)
    with pytest.raises(Refusal, match="Confidence"):
        estimate().region(1.0)
