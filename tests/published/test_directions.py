"""Circular statistics, harmonics, mean vectors and nested scatter against print and R."""

import numpy as np
import pytest

from workbench.inference.directions.circular import mean_direction, von_mises_fit
from workbench.inference.directions.components import vector_components
from workbench.inference.directions.harmonics import harmonic_fit
from workbench.inference.directions.hotelling import mean_vector, pooled_difference

# Zar, Biostatistical Analysis, examples 26.4 and 27.1: lean of trees (printed values from memory).
TREES = (45, 55, 81, 96, 110, 117, 132, 154)

# Stephens (1969); Fisher (1993), data set B.3: 76 turtles (data from memory).
TURTLES = (
    8, 9, 13, 13, 14, 18, 22, 27, 30, 34, 38, 38, 40, 44, 45, 47, 48, 48, 48, 48, 50, 53, 56, 57,
    58, 58, 61, 63, 64, 64, 64, 65, 65, 68, 70, 73, 78, 78, 78, 83, 83, 88, 88, 88, 90, 92, 92, 93,
    95, 96, 98, 100, 103, 106, 113, 118, 138, 153, 153, 155, 204, 215, 223, 226, 237, 238, 243, 244,
    250, 251, 257, 268, 285, 319, 343, 350,
)  # fmt: skip

# R datasets::nottem (Anderson 1976), monthly means, January at angle 0.
MONTHS = (39.695, 39.19, 42.195, 46.29, 52.56, 58.04, 61.9, 60.52, 56.48, 49.495, 42.58, 39.53)

# R datasets::iris (Anderson 1935): sepal width and petal width, 50 flowers each.
VERSICOLOR = (
    (3.2, 1.4), (3.2, 1.5), (3.1, 1.5), (2.3, 1.3), (2.8, 1.5), (2.8, 1.3), (3.3, 1.6), (2.4, 1.0),
    (2.9, 1.3), (2.7, 1.4), (2.0, 1.0), (3.0, 1.5), (2.2, 1.0), (2.9, 1.4), (2.9, 1.3), (3.1, 1.4),
    (3.0, 1.5), (2.7, 1.0), (2.2, 1.5), (2.5, 1.1), (3.2, 1.8), (2.8, 1.3), (2.5, 1.5), (2.8, 1.2),
    (2.9, 1.3), (3.0, 1.4), (2.8, 1.4), (3.0, 1.7), (2.9, 1.5), (2.6, 1.0), (2.4, 1.1), (2.4, 1.0),
    (2.7, 1.2), (2.7, 1.6), (3.0, 1.5), (3.4, 1.6), (3.1, 1.5), (2.3, 1.3), (3.0, 1.3), (2.5, 1.3),
    (2.6, 1.2), (3.0, 1.4), (2.6, 1.2), (2.3, 1.0), (2.7, 1.3), (3.0, 1.2), (2.9, 1.3), (2.9, 1.3),
    (2.5, 1.1), (2.8, 1.3),
)  # fmt: skip
VIRGINICA = (
    (3.3, 2.5), (2.7, 1.9), (3.0, 2.1), (2.9, 1.8), (3.0, 2.2), (3.0, 2.1), (2.5, 1.7), (2.9, 1.8),
    (2.5, 1.8), (3.6, 2.5), (3.2, 2.0), (2.7, 1.9), (3.0, 2.1), (2.5, 2.0), (2.8, 2.4), (3.2, 2.3),
    (3.0, 1.8), (3.8, 2.2), (2.6, 2.3), (2.2, 1.5), (3.2, 2.3), (2.8, 2.0), (2.8, 2.0), (2.7, 1.8),
    (3.3, 2.1), (3.2, 1.8), (2.8, 1.8), (3.0, 1.8), (2.8, 2.1), (3.0, 1.6), (2.8, 1.9), (3.8, 2.0),
    (2.8, 2.2), (2.8, 1.5), (2.6, 1.4), (3.0, 2.3), (3.4, 2.4), (3.1, 1.8), (3.0, 1.8), (3.1, 2.1),
    (3.1, 2.4), (3.1, 2.3), (2.7, 1.9), (3.2, 2.3), (3.3, 2.5), (3.0, 2.3), (2.5, 1.9), (3.0, 2.0),
    (3.4, 2.3), (3.0, 1.8),
)  # fmt: skip


def test_trees_as_printed_by_zar() -> None:
    found = mean_direction(TREES)
    assert found.direction == pytest.approx(99, abs=0.5)
    assert found.length == pytest.approx(0.82522, abs=5e-6)
    assert found.n * found.length == pytest.approx(6.6017, abs=1e-4)
    assert found.n * found.length**2 == pytest.approx(5.448, abs=5e-4)


def test_rayleigh_of_trees_lies_between_the_two_printed_approximations() -> None:
    """Printed 0.0016 and 0.0019; 200 000 simulated walks of 8 steps gave 0.0017."""
    assert mean_direction(TREES).rayleigh == pytest.approx(0.0017, abs=5e-5)


def test_turtles_gather_but_are_two_groups() -> None:
    found = mean_direction(TURTLES)
    assert found.direction == pytest.approx(64.2, abs=0.05)
    assert found.length == pytest.approx(0.497, abs=5e-4)
    assert found.n * found.length**2 == pytest.approx(18.7796423, abs=1e-6)
    assert found.rayleigh < 1e-8


def test_trees_and_wind_as_r_fits_them(printed_by_r) -> None:
    """R's concentration is an approximation good to a per cent; the likelihood is solved here."""
    said = printed_by_r("directions")
    found = mean_direction(TREES)
    assert [found.direction] == pytest.approx(said["trees_mean"], rel=1e-9)
    assert [found.length] == pytest.approx(said["trees_length"], rel=1e-9)
    assert [found.standard_deviation] == pytest.approx(said["trees_sd"], rel=1e-9)
    assert [found.rayleigh] == pytest.approx(said["trees_wilkie"], rel=0.01)  # a series to 1/n^2
    plain = von_mises_fit(TREES, small_sample=False)
    kappa, error = said["trees_kappa"]
    assert plain.concentration == pytest.approx(kappa, rel=0.01)
    assert plain.concentration_standard_error == pytest.approx(error, rel=0.02)
    assert [von_mises_fit(TREES).concentration] == pytest.approx(
        said["trees_kappa_small"], rel=0.01
    )
    wind = von_mises_fit(np.degrees(said["wind"]))
    assert [wind.direction] == pytest.approx(said["wind_mean_deg"], rel=1e-7)
    assert [wind.length] == pytest.approx(said["wind_length"], rel=1e-7)
    kappa, error = said["wind_kappa"]
    assert wind.concentration == pytest.approx(kappa, rel=0.01)
    assert wind.concentration_standard_error == pytest.approx(error, rel=0.02)


def test_monthly_temperatures_as_periodic_regression_prints_them() -> None:
    """Bliss (1970) gives the closed form; digits recomputed in R by lm."""
    fit = harmonic_fit(np.arange(12) * 30, MONTHS)
    assert fit.mean == pytest.approx(49.0396, abs=5e-5)
    assert fit.coefficients[1:] == pytest.approx([-11.4733, -1.3905], abs=5e-5)
    assert fit.amplitude() == pytest.approx(11.5573, abs=5e-5)
    assert fit.direction() - 360 == pytest.approx(-173.09, abs=5e-3)
    assert fit.variance**0.5 == pytest.approx(1.3181, abs=5e-5)
    assert fit.test(1).statistic == pytest.approx(230.65, abs=5e-3)
    assert fit.vector().vxx ** 0.5 == pytest.approx(0.538103641, rel=1e-8)


def test_wall_round_a_bore_in_closed_form() -> None:
    """5.0 + 0.6 cos(angle - 30): thinnest 4.4 at 210 degrees."""
    wall = (
        5.519615242271, 5.579555495773, 5.3, 4.844708572938,
        4.480384757729, 4.420444504227, 4.7, 5.155291427062,
    )  # fmt: skip
    fit = harmonic_fit(np.arange(8) * 45, wall)
    assert [fit.mean, fit.amplitude(), fit.direction()] == pytest.approx([5, 0.6, 30], abs=1e-9)
    assert fit.fitted([210.0]) == pytest.approx([4.4], abs=1e-9)


def test_unequal_angles_and_weights_as_r_fits_them(printed_by_r) -> None:
    said = printed_by_r("directions")
    fit = harmonic_fit(
        (10, 75, 150, 200, 290, 340), (4.41, 4.05, 4.32, 4.66, 4.98, 4.71), (1, 2, 1, 3, 1, 2)
    )
    assert fit.coefficients == pytest.approx(said["weighted"], rel=1e-8)
    assert (fit.variance * fit.unscaled).ravel() == pytest.approx(said["weighted_cov"], rel=1e-6)
    assert [fit.variance**0.5] == pytest.approx(said["weighted_sigma"], rel=1e-8)


def test_second_harmonic_of_monthly_temperatures_as_r_tests_it(printed_by_r) -> None:
    said = printed_by_r("directions")
    fit = harmonic_fit(np.tile(np.arange(12) * 30, 20), said["nottem"], order=2)
    assert fit.coefficients == pytest.approx(said["nottem_two"], rel=1e-8)
    errors = np.sqrt(fit.variance * np.diag(fit.unscaled))
    assert errors == pytest.approx(said["nottem_two_se"], rel=1e-7)
    found = fit.test(2)
    assert [found.statistic, found.p_value] == pytest.approx(said["nottem_F"], rel=1e-7)


def test_hotelling_as_r_tests_it(printed_by_r) -> None:
    said = printed_by_r("directions")
    _, above, below, p = said["one_sample_F"]
    found = mean_vector(VERSICOLOR)
    assert (above, below) == (2, found.degrees_of_freedom - 1)
    assert found.p_value(2.8, 1.3) == pytest.approx(p, rel=1e-8)
    apart = pooled_difference(VERSICOLOR, VIRGINICA)
    assert apart.degrees_of_freedom - 1 == said["two_sample_F"][2]
    assert apart.p_value() == pytest.approx(said["two_sample_F"][3], rel=1e-6)


def test_nested_scatter_as_r_divides_it(printed_by_r) -> None:
    """Balanced, so that components are differences of R's mean squares."""
    said = printed_by_r("directions")
    squares = {
        name: np.reshape(said[f"nested_ms_{name}"], (2, 2))
        for name in ("block", "bore", "residual")
    }
    found = vector_components(
        np.column_stack([said["nested_x"], said["nested_y"]]),
        {"block": np.repeat(np.arange(8), 6), "bore": np.tile(np.repeat(np.arange(3), 2), 8)},
    )
    assert found.boundary == ()
    assert found.covariances["residual"] == pytest.approx(squares["residual"], rel=1e-8)
    bore = (squares["bore"] - squares["residual"]) / 2
    assert found.covariances["bore"] == pytest.approx(bore, rel=1e-8)
    block = (squares["block"] - squares["bore"]) / 6
    assert found.covariances["block"] == pytest.approx(block, rel=1e-8)
    for level in ("bore", "block"):
        test = found.tests[level]
        assert [
            test.statistic, test.upper_degrees_of_freedom, test.lower_degrees_of_freedom,
            test.p_value,
        ] == pytest.approx(said[f"{level}_wilks_F"], rel=1e-8)  # fmt: skip
