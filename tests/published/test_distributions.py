"""Fits of distributions against printed pages and R (tests/published/r/distributions.txt)."""

import math

import numpy as np
import pytest

from workbench.inference.distributions.fit import fit_distribution
from workbench.inference.distributions.kernel import kernel_estimate
from workbench.inference.distributions.profile import (
    parameter_interval,
    quantile_interval,
    share_below_interval,
)
from workbench.inference.distributions.readings import Readings

# Lieblein & Zelen (1956), J. Res. NBS 57:273-316: million revolutions of ball bearings. A numeric
# check only: Caroni (2002) showed that the record had 25 bearings (from memory).
BEARINGS = (
    17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8, 68.64, 68.64,
    68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4,
)  # fmt: skip

# Smith & Naylor (1987), Appl. Statist. 36:358-369: strengths of 1.5 cm glass fibres, minima by
# nature (data read in public R code).
FIBRES = (
    0.55, 0.93, 1.25, 1.36, 1.49, 1.52, 1.58, 1.61, 1.64, 1.68, 1.73, 1.81, 2.0, 0.74, 1.04, 1.27,
    1.39, 1.49, 1.53, 1.59, 1.61, 1.66, 1.68, 1.76, 1.82, 2.01, 0.77, 1.11, 1.28, 1.42, 1.5, 1.54,
    1.6, 1.62, 1.66, 1.69, 1.76, 1.84, 2.24, 0.81, 1.13, 1.29, 1.48, 1.5, 1.55, 1.61, 1.62, 1.66,
    1.7, 1.77, 1.84, 0.84, 1.24, 1.3, 1.48, 1.51, 1.55, 1.61, 1.63, 1.67, 1.7, 1.78, 1.89,
)  # fmt: skip

# Coles (2001), An Introduction to Statistical Modeling of Extreme Values, pp. 59-62: annual maxima
# of the sea at Port Pirie, m (data as in R evd; printed values from memory).
PORT_PIRIE = (
    4.03, 3.83, 3.65, 3.88, 4.01, 4.08, 4.18, 3.8, 4.36, 3.96, 3.98, 4.69, 3.85, 3.96, 3.85, 3.93,
    3.75, 3.63, 3.57, 4.25, 3.97, 4.05, 4.24, 4.22, 3.73, 4.37, 4.06, 3.71, 3.96, 4.06, 4.55, 3.79,
    3.89, 4.11, 3.85, 3.86, 3.86, 4.21, 4.01, 4.11, 4.24, 3.96, 4.21, 3.74, 3.85, 3.88, 3.66, 4.11,
    3.71, 4.18, 3.9, 3.78, 3.91, 3.72, 4.0, 3.66, 3.62, 4.33, 4.55, 3.75, 4.08, 3.9, 3.88, 3.94,
    4.33,
)  # fmt: skip


def test_ball_bearings_as_printed() -> None:
    """Thoman, Bain & Antle (1969), Technometrics 11:445-460; Lawless (1982) (from memory)."""
    readings = Readings.of(BEARINGS)
    weibull = fit_distribution(readings, "weibull-2")
    assert weibull.estimates["shape"] == pytest.approx(2.102, abs=5e-4)
    assert weibull.estimates["scale"] == pytest.approx(81.88, abs=5e-3)
    assert weibull.log_likelihood == pytest.approx(-113.691, abs=5e-4)
    lognormal = fit_distribution(readings, "lognormal")
    assert lognormal.estimates == pytest.approx({"mean_log": 4.150, "sd_log": 0.522}, abs=5e-4)
    gamma = fit_distribution(readings, "gamma")
    assert gamma.estimates["shape"] == pytest.approx(4.025, abs=5e-4)
    assert 1 / gamma.estimates["scale"] == pytest.approx(0.0557, abs=5e-5)
    assert gamma.log_likelihood == pytest.approx(-113.029, abs=5e-4)


@pytest.mark.parametrize(
    ("family", "named"),
    [
        ("normal", "norm"),
        ("lognormal", "lnorm"),
        ("weibull-2", "weibull"),
        ("logistic", "logis"),
        ("gamma", "gamma"),
    ],
)
def test_bearings_and_coarse_fibres_against_fitdistrplus(family, named, printed_by_r) -> None:
    """Unrounded, and rounded to 0.1 with readings beyond a limit on either side."""
    witness = printed_by_r("distributions")
    plain = fit_distribution(Readings.of(BEARINGS), family)
    values, counts = witness["coarse_values"], witness["coarse_counts"]
    few, many = witness["coarse_beyond"]
    coarse = fit_distribution(
        Readings.of(values, counts, step=0.1, below={0.8: int(few)}, above={1.85: int(many)}),
        family,
    )
    for fit, name in ((plain, f"bearings_{named}"), (coarse, f"coarse_{named}")):
        first, second, error_first, error_second, log_likelihood, *bic = witness[name]
        found = [one.estimate for one in fit.parameters]
        errors = [one.standard_error for one in fit.parameters]
        if family == "gamma":  # R gives the rate; its standard error is relative to it
            relative = error_second / second
            second, error_second = 1 / second, relative / second
        assert found == pytest.approx([first, second], rel=2e-5)
        # fitdistrplus takes its own numerical differences: some of its errors have three digits
        assert errors == pytest.approx([error_first, error_second], rel=3e-3)
        assert fit.log_likelihood == pytest.approx(log_likelihood, abs=1e-6)
        if bic:
            assert fit.bic == pytest.approx(bic[0], abs=1e-5)


def test_gumbel_for_minima_of_coarse_fibres_against_fitdistrplus(printed_by_r) -> None:
    witness = printed_by_r("distributions")
    few, many = witness["coarse_beyond"]
    readings = Readings.of(
        witness["coarse_values"],
        witness["coarse_counts"],
        step=0.1,
        below={0.8: int(few)},
        above={1.85: int(many)},
    )
    fit = fit_distribution(readings, "gumbel-minima")
    location, scale, *errors, log_likelihood = witness["coarse_gumbel_minima"]
    assert list(fit.estimates.values()) == pytest.approx([location, scale], rel=2e-5)
    assert [one.standard_error for one in fit.parameters] == pytest.approx(errors, rel=1e-3)
    assert fit.log_likelihood == pytest.approx(log_likelihood, abs=1e-6)


def test_student_t_with_four_degrees_of_freedom_against_survreg(printed_by_r) -> None:
    """R fits location and scale at 4 degrees of freedom; the profile there must pass as high."""
    location, scale, log_likelihood = printed_by_r("distributions")["bearings_t4"]
    fit = fit_distribution(Readings.of(BEARINGS), "student-t")
    frame = fit.likelihood.frame
    row = [(location - frame.centre) / frame.unit, math.log(scale / frame.unit), math.log(4)]
    there = float(fit.likelihood(np.array([row]))[0]) * len(BEARINGS)
    assert there == pytest.approx(log_likelihood, abs=1e-6)
    assert fit.log_likelihood > log_likelihood


def test_port_pirie_as_printed_and_recomputed() -> None:
    fit = fit_distribution(Readings.of([-x for x in PORT_PIRIE]), "gev-minima")
    location, scale, shape = fit.parameters
    assert (-location.estimate, scale.estimate, shape.estimate) == pytest.approx(
        (3.87474986, 0.198043961, -0.0501095461), abs=1e-4
    )
    errors = [one.standard_error for one in fit.parameters]
    assert errors == pytest.approx([0.028, 0.020, 0.098], abs=5e-4)
    assert [error**2 for error in errors] == pytest.approx([0.000780, 0.000410, 0.00965], abs=6e-5)
    assert fit.log_likelihood == pytest.approx(4.34, abs=5e-3)
    ten, hundred = quantile_interval(fit, 0.1), quantile_interval(fit, 0.01)
    assert -ten.estimate == pytest.approx(4.30, abs=5e-3)
    assert -hundred.estimate == pytest.approx(4.69, abs=5e-3)
    # Profile interval as printed: 4.50 to 5.27, and recomputed with R: 4.4907 to 5.2607.
    assert (-hundred.high, -hundred.low) == pytest.approx((4.50, 5.27), abs=0.011)
    assert (-hundred.high, -hundred.low) == pytest.approx((4.490655, 5.260706), abs=5e-4)
    gumbel = fit_distribution(Readings.of([-x for x in PORT_PIRIE]), "gumbel-minima")
    assert -gumbel.estimates["location"] == pytest.approx(3.8694458, abs=1e-5)
    assert gumbel.estimates["scale"] == pytest.approx(0.1948908, abs=1e-5)
    gain = 2 * (fit.log_likelihood - gumbel.log_likelihood)
    assert gain == pytest.approx(0.242753104, abs=1e-5)


def test_glass_fibres_as_printed_and_against_evd(printed_by_r) -> None:
    """Coles (2001), section 3.4.2 (from memory), and R evd on the negated strengths."""
    witness = printed_by_r("distributions")
    readings = Readings.of(FIBRES)
    fit = fit_distribution(readings, "gev-minima")
    location, scale, shape, *errors, log_likelihood = witness["fibres_gev"]
    assert list(fit.estimates.values()) == pytest.approx([-location, scale, shape], abs=2e-5)
    assert list(fit.estimates.values()) == pytest.approx([1.64, 0.273, -0.084], abs=2e-3)
    assert [one.standard_error for one in fit.parameters] == pytest.approx(errors, rel=1e-3)
    assert fit.log_likelihood == pytest.approx(log_likelihood, abs=1e-6)
    estimate, low, high = witness["fibres_gev_quantile_0.01"]
    found = quantile_interval(fit, 0.01)
    assert found.estimate == pytest.approx(-estimate, abs=2e-4)
    # evd interpolates its profile between points 0.01 apart
    assert (found.low, found.high) == pytest.approx((-high, -low), abs=2e-3)
    ends = parameter_interval(fit, "shape")
    assert (ends.low, ends.high) == pytest.approx(witness["fibres_gev_shape_profile"], abs=5e-4)
    location, scale, *errors, log_likelihood = witness["fibres_gumbel"]
    gumbel = fit_distribution(readings, "gumbel-minima")
    assert list(gumbel.estimates.values()) == pytest.approx([-location, scale], abs=1e-5)
    assert gumbel.log_likelihood == pytest.approx(log_likelihood, abs=1e-6)


def test_weibull_with_a_lower_end_is_the_extreme_value_of_the_fibres() -> None:
    """Recomputed with R: lower end -1.5934, shape 11.856, scale 3.235, the same likelihood."""
    fit = fit_distribution(Readings.of(FIBRES), "weibull-3")
    assert fit.estimates["lower_end"] == pytest.approx(-1.5934, abs=5e-4)
    assert fit.estimates["shape"] == pytest.approx(11.856, abs=5e-3)
    assert fit.estimates["scale"] == pytest.approx(3.235, abs=5e-4)
    assert fit.log_likelihood == pytest.approx(-14.285288576, abs=1e-7)


def test_skew_normal_and_mixture_against_a_likelihood_written_in_r(printed_by_r) -> None:
    witness = printed_by_r("distributions")
    for family, name in (("skew-normal", "skew_normal"), ("normal-mixture", "two_normals")):
        *parameters, log_likelihood = witness[f"fibres_{name}"]
        fit = fit_distribution(Readings.of(FIBRES), family)
        assert list(fit.estimates.values()) == pytest.approx(parameters, rel=2e-4)
        assert fit.log_likelihood == pytest.approx(log_likelihood, abs=1e-7)


def test_truncated_normal_against_a_likelihood_written_in_r(printed_by_r) -> None:
    mean, sd, log_likelihood = printed_by_r("distributions")["truncated_normal"]
    seen = [x for x in FIBRES if 1 < x < 1.9]
    fit = fit_distribution(Readings.of(seen, window=(1.0, 1.9)), "normal")
    assert fit.estimates == pytest.approx({"mean": mean, "sd": sd}, rel=1e-5)
    assert fit.log_likelihood == pytest.approx(log_likelihood, abs=1e-7)


def test_fluazinam_beyond_the_range() -> None:
    """Hose & Van den Brink (2004); Delignette-Muller & Dutang (2015), J. Stat. Softw. 64(4)."""
    known = [3.8, 33.6, 87, 640, 113, 129, 586, 1.6, 4.8, 82, 155]
    fit = fit_distribution(Readings.of(known, above={1700: 1, 1155: 1, 1856: 1}), "lognormal")
    assert fit.estimates == pytest.approx({"mean_log": 4.977, "sd_log": 2.688}, rel=1e-3)
    assert [one.standard_error for one in fit.parameters] == pytest.approx([0.742, 0.606], abs=5e-4)
    assert fit.log_likelihood == pytest.approx(-72.81, abs=5e-3)


def test_chest_girths_in_whole_inches() -> None:
    """Quetelet (1846) as printed (he miscopied his source; Stigler's counts total 5732).

    The spread of the rounded values is 2.049; the likelihood of intervals must give the 2.029 of
    Sheppard's correction. Recomputed with R: mean 39.8318281, sd 2.0290144.
    """
    counts = (3, 18, 81, 185, 420, 749, 1073, 1079, 934, 658, 370, 92, 50, 21, 4, 1)
    fit = fit_distribution(Readings.of_steps(range(33, 49), counts, 1.0), "normal")
    assert fit.readings.size == 5738
    assert fit.estimates == pytest.approx({"mean": 39.832, "sd": 2.029}, abs=5e-4)
    assert fit.estimates == pytest.approx({"mean": 39.8318281, "sd": 2.0290144}, abs=1e-6)
    assert fit.log_likelihood == pytest.approx(-12259.27, abs=5e-3)
    stigler = (3, 19, 81, 189, 409, 753, 1062, 1082, 935, 646, 313, 168, 50, 18, 3, 1)
    corrected = fit_distribution(Readings.of_steps(range(33, 49), stigler, 1.0), "normal")
    assert corrected.readings.size == 5732
    assert corrected.estimates["mean"] == pytest.approx(39.849, abs=5e-4)
    sheppard = math.sqrt(2.07320506**2 - 1 / 12)
    assert corrected.estimates["sd"] == pytest.approx(sheppard, abs=2e-4)


def test_profile_intervals_of_a_weibull_against_root_search_in_r(printed_by_r) -> None:
    witness = printed_by_r("distributions")
    fit = fit_distribution(Readings.of(BEARINGS), "weibull-2")
    for found, name in (
        (parameter_interval(fit, "shape"), "weibull_shape_profile"),
        (quantile_interval(fit, 0.1), "weibull_b10_profile"),
        (share_below_interval(fit, 30), "weibull_share_below_30_profile"),
    ):
        assert (found.low, found.high) == pytest.approx(witness[name], rel=2e-5)


def test_kernel_against_r_density(printed_by_r) -> None:
    """Bandwidth by bw.nrd0, whose quartiles of 23 values differ a little from those here."""
    bandwidth, *heights = printed_by_r("distributions")["kernel"]
    found = kernel_estimate(Readings.of(BEARINGS), [20, 68, 120], bandwidth=bandwidth)
    assert found.density == pytest.approx(heights, rel=2e-3)
    assert kernel_estimate(Readings.of(BEARINGS)).bandwidth == pytest.approx(bandwidth, rel=0.1)
