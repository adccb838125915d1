import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.directions.roughness import surface_model
from workbench.inference.directions.surface import (
    Sheet,
    SurfaceModel,
    covariance_of,
    determined,
    free_columns,
    points_of,
    surface,
    surface_errors,
)

DEGREES = np.tile([0.0, 90, 180, 270], 3)
LEVELS = np.repeat([10.0, 60, 110], 4)
MODEL = SurfaceModel(variance=0.01, turn=45.0, reach=40.0, degrees_of_freedom=40)
POINTS = np.array([0.0, 20, 45, 200, 359]), np.array([10.0, 30, 60, 80, 110])


def sheet(rng, noise=0.05, model=MODEL, degrees=DEGREES, levels=LEVELS) -> Sheet:
    covariance = covariance_of(model, degrees, levels, degrees, levels)
    iron = np.linalg.cholesky(covariance + 1e-12 * np.eye(degrees.size)) @ rng.normal(
        size=degrees.size
    )
    harmonic = 4.5 - 0.2 * np.cos(np.radians(degrees - 40)) + 0.001 * (levels - 60)
    values = harmonic + iron + rng.normal(0, noise, degrees.size)
    return Sheet(
        degrees=degrees, levels=levels, values=values, noise=np.full(degrees.size, noise**2)
    )


def test_estimate_is_the_conditional_normal_written_out() -> None:
    """The free part is the limit of a prior of endless variance on its coefficients."""
    read = sheet(np.random.default_rng(1))
    everywhere = (np.append(DEGREES, POINTS[0]), np.append(LEVELS, POINTS[1]))
    angles, along = np.radians(everywhere[0]), (everywhere[1] - 60) / 50
    c, s = np.cos(angles), np.sin(angles)
    basis = np.column_stack([np.ones(17), c, s, along, along * c, along * s])
    covariance = covariance_of(MODEL, *everywhere, *everywhere) + 1e5 * basis @ basis.T
    own = covariance[:12, :12] + np.diag(read.noise)
    cross = covariance[12:, :12]
    found = surface(read, MODEL, *POINTS)
    assert found.mean == pytest.approx(cross @ np.linalg.solve(own, read.values), abs=1e-5)
    rest = covariance[12:, 12:] - cross @ np.linalg.solve(own, cross.T)
    assert found.covariance == pytest.approx(rest, abs=1e-5)
    mean, error = surface_errors(read, MODEL, *POINTS)
    assert mean == pytest.approx(found.mean, abs=1e-12)
    assert error == pytest.approx(found.standard_error, abs=1e-9)


def test_exact_readings_are_gone_through_and_none_is_smoothed() -> None:
    read = sheet(np.random.default_rng(2), noise=1e-6)
    mean, error = surface_errors(read, MODEL, DEGREES, LEVELS)
    assert mean == pytest.approx(read.values, abs=1e-5)
    assert error.max() < 1e-5


def test_a_wall_that_is_only_shifted_comes_back_everywhere() -> None:
    turn, rows = np.radians(DEGREES), np.arange(0, 360, 7.0)
    levels = np.full(rows.size, 35.0)
    read = Sheet(
        degrees=DEGREES,
        levels=LEVELS,
        values=4.5 - 0.2 * np.sin(turn) + 0.002 * LEVELS * np.cos(turn),
        noise=np.full(12, 0.01),
    )
    mean, _ = surface_errors(read, MODEL, rows, levels)
    truth = 4.5 - 0.2 * np.sin(np.radians(rows)) + 0.07 * np.cos(np.radians(rows))
    assert mean == pytest.approx(truth, abs=1e-9)


def test_surface_is_periodic_and_turns_with_the_angles() -> None:
    read = sheet(np.random.default_rng(3))
    turned = Sheet(
        degrees=(DEGREES + 33) % 360, levels=LEVELS, values=read.values, noise=read.noise
    )
    plain, error = surface_errors(read, MODEL, *POINTS)
    for shift in (33.0, 393.0):
        mean, other = surface_errors(turned, MODEL, POINTS[0] + shift, POINTS[1])
        assert mean == pytest.approx(plain)
        assert other == pytest.approx(error)


def test_bounds_cover_the_least_of_the_surface() -> None:
    """Nine of ten lower bounds of the least value lie below it, roughness estimated."""
    rng = np.random.default_rng(6)
    angles, levels = (
        part.ravel() for part in np.meshgrid(np.arange(0, 360, 15.0), [10, 35, 60, 85, 110])
    )
    own = np.append(DEGREES, angles), np.append(LEVELS, levels)
    root = np.linalg.cholesky(covariance_of(MODEL, *own, *own) + 1e-10 * np.eye(own[0].size))
    hits = 0
    for _ in range(60):
        iron = [root @ rng.normal(size=own[0].size) for _ in range(6)]
        sheets = [
            Sheet(
                degrees=DEGREES,
                levels=LEVELS,
                values=4.5 + part[:12] + rng.normal(0, 0.03, 12),
                noise=np.full(12, 0.0009),
            )
            for part in iron
        ]
        model = surface_model(sheets)
        least = surface(sheets[0], model, angles, levels).draw(400, rng).min(axis=1)
        hits += 4.5 + iron[0][12:].min() >= np.quantile(least, 0.1)
    assert hits / 60 == pytest.approx(0.9, abs=0.11)


def test_one_level_and_three_angles() -> None:
    three = Sheet(
        degrees=np.array([0.0, 120, 240]),
        levels=np.zeros(3),
        values=np.array([4.4, 4.6, 4.5]),
        noise=np.full(3, 0.01),
    )
    assert free_columns(three).shape == (3, 3)
    mean, _ = surface_errors(three, MODEL, np.array([0.0, 120, 240]), np.zeros(3))
    assert mean == pytest.approx(three.values)  # three readings are their own mean and harmonic


def test_angles_in_a_narrow_arc_are_refused() -> None:
    """Twelve degrees of arc: the curve beyond would be made up, from -0.5 to 7 mm for 4.5."""
    arc = Sheet(
        degrees=np.array([0.0, 4, 8, 12]),
        levels=np.zeros(4),
        values=np.array([4.5, 4.4, 4.6, 4.5]),
        noise=np.full(4, 0.01),
    )
    assert not determined(arc)
    with pytest.raises(Refusal, match="so near each other"):
        surface_errors(arc, MODEL, np.array([0.0]), np.zeros(1))
    spread = Sheet(
        degrees=np.array([0.0, 40, 80, 120]), levels=arc.levels, values=arc.values, noise=arc.noise
    )
    assert determined(spread)


def test_two_angles_are_refused() -> None:
    two = Sheet(
        degrees=np.array([0.0, 180, 0, 180]),
        levels=np.array([0.0, 0, 5, 5]),
        values=np.ones(4),
        noise=np.ones(4),
    )
    with pytest.raises(Refusal, match="Fewer than three angles"):
        free_columns(two)


def test_points_laid_out_once_serve_every_sheet_read_at_the_same_places() -> None:
    rng = np.random.default_rng(12)
    sheets = [sheet(rng, noise) for noise in (0.05, 0.02, 0.1)]
    points = points_of(sheets[0], MODEL, *POINTS)
    for one in sheets:
        alone, found = surface(one, MODEL, *POINTS), points.surface(one)
        np.testing.assert_array_equal(found.mean, alone.mean)
        np.testing.assert_array_equal(found.covariance, alone.covariance)
