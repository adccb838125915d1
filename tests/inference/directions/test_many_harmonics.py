import numpy as np
import pytest

from workbench.inference.directions.harmonics import harmonic_columns, harmonic_fit
from workbench.inference.directions.many_harmonics import fit_circles, fit_stacks


@pytest.fixture
def readings():
    rng = np.random.default_rng(11)
    circle = np.repeat(np.arange(6), [4, 5, 3, 2, 6, 4])
    degrees = np.concatenate([np.sort(rng.choice(12, n, replace=False)) * 30.0 for n in (4, 5, 3)])
    degrees = np.concatenate([degrees, [0, 180], np.arange(6) * 60.0, [0, 1, 2, 3]])
    return circle, degrees, rng.normal(4.5, 0.2, circle.size), rng.uniform(0.5, 2, circle.size)


def test_each_circle_is_fitted_as_alone(readings) -> None:
    circle, degrees, y, w = readings
    found = fit_circles(circle, degrees, y, w, 6)
    assert found.determined.tolist() == [True, True, True, False, True, False]
    for at in (0, 1, 2, 4):
        mine = circle == at
        alone = harmonic_fit(degrees[mine], y[mine], w[mine])
        assert [found.mean[at], found.cosine[at], found.sine[at]] == pytest.approx(
            alone.coefficients
        )
        assert found.unscaled[at] == pytest.approx(alone.unscaled[1:, 1:])
        assert found.mean_unscaled[at] == pytest.approx(alone.unscaled[0, 0])
        assert found.squares[at] == pytest.approx(alone.squares, abs=1e-14)
        assert found.degrees_of_freedom[at] == alone.degrees_of_freedom
        left = y[mine] - alone.fitted(degrees[mine])
        assert found.residuals[mine] == pytest.approx(left, abs=1e-12)
    assert np.isnan(found.cosine[[3, 5]]).all()
    assert found.degrees_of_freedom[[3, 5]].tolist() == [0, 0]


def test_stacks_are_the_regression_written_out(readings) -> None:
    """Least squares with a mean for each circle and a harmonic that leans, column by column."""
    circle, degrees, y, w = readings
    stack, places = np.array([0, 0, 0, 0, 1, 1]), np.array([0.0, 10, 25, 40, np.nan, 5])
    found = fit_stacks(fit_circles(circle, degrees, y, w, 6), stack, places, 2)
    mine = stack[circle] == 0
    own = (circle[mine, None] == np.arange(4)).astype(float)
    pair = harmonic_columns(degrees[mine], 1)[:, 1:]
    root = np.sqrt(w[mine])[:, None]
    both = np.hstack([own, pair])
    coefficients = np.linalg.lstsq(both * root, y[mine] * root[:, 0], rcond=None)[0][-2:]
    assert [found.cosine[0], found.sine[0]] == pytest.approx(coefficients)
    unscaled = np.linalg.inv((both * root).T @ (both * root))[-2:, -2:]
    assert found.unscaled[0] == pytest.approx(unscaled)
    centre = np.average(places[circle[mine]], weights=w[mine])
    assert found.centre[0] == pytest.approx(centre)
    z = (places[circle[mine]] - centre)[:, None]
    whole = np.hstack([own, pair, z * pair]) * root
    coefficients = np.linalg.lstsq(whole, y[mine] * root[:, 0], rcond=None)[0][-4:]
    assert [*found.at_centre[0], *found.lean[0]] == pytest.approx(coefficients)
    assert found.lean_unscaled[0] == pytest.approx(np.linalg.inv(whole.T @ whole)[-2:, -2:])
    assert found.determined.tolist() == [True, True]
    assert np.isnan(found.lean[1]).all()  # a place of it is not known


def test_one_place_gives_no_lean() -> None:
    circle, degrees = np.repeat([0, 1], 4), np.tile([0.0, 90, 180, 270], 2)
    circles = fit_circles(circle, degrees, np.arange(8.0), np.ones(8), 2)
    found = fit_stacks(circles, np.array([0, 0]), np.array([10.0, 10.0]), 1)
    assert found.determined.tolist() == [True]
    assert np.isnan(found.lean).all()


def test_two_angles_a_circle_determine_a_stack_between_them() -> None:
    circle, degrees = np.array([0, 0, 1, 1]), np.array([0.0, 180, 90, 270])
    y = 4.0 - 0.3 * np.cos(np.radians(degrees)) - 0.1 * np.sin(np.radians(degrees))
    circles = fit_circles(circle, degrees, y, np.ones(4), 2)
    assert not circles.determined.any()
    found = fit_stacks(circles, np.array([0, 0]), np.array([np.nan, np.nan]), 1)
    assert (found.cosine[0], found.sine[0]) == pytest.approx((-0.3, -0.1))
