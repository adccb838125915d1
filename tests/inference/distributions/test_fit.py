"""Fits: invariances, planted parameters, limits between families, words about trouble, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.distributions.catalogue import FAMILIES
from workbench.inference.distributions.compare import compare_families
from workbench.inference.distributions.family import frame_of
from workbench.inference.distributions.fit import fit_distribution
from workbench.inference.distributions.kernel import kernel_estimate
from workbench.inference.distributions.profile import (
    parameter_interval,
    quantile_interval,
    share_below_interval,
)
from workbench.inference.distributions.readings import Readings

ALL = tuple(FAMILIES)

# Each family's planted member, as scipy.stats knows it.
PLANTED = {
    "normal": (stats.norm(4.6, 0.3), (4.6, 0.3)),
    "lognormal": (stats.lognorm(0.2, scale=math.exp(1.5)), (1.5, 0.2)),
    "weibull-2": (stats.weibull_min(5.0, scale=4.0), (5.0, 4.0)),
    "weibull-3": (stats.weibull_min(2.5, loc=3.0, scale=1.2), (2.5, 1.2, 3.0)),
    "gamma": (stats.gamma(9.0, scale=0.5), (9.0, 0.5)),
    "logistic": (stats.logistic(4.6, 0.2), (4.6, 0.2)),
    "student-t": (stats.t(5, loc=4.6, scale=0.3), (4.6, 0.3, 5.0)),
    "skew-normal": (stats.skewnorm(-3, loc=5, scale=0.4), (5.0, 0.4, -3.0)),
    "gumbel-minima": (stats.gumbel_l(4.2, 0.2), (4.2, 0.2)),
}


def drawn(distribution, size=20_000, seed=3):
    return distribution.rvs(size=size, random_state=np.random.default_rng(seed))


@pytest.mark.parametrize("family", PLANTED)
def test_planted_parameters_come_back_from_coarse_readings(family) -> None:
    """Within five standard errors, from readings rounded to a third of their spread."""
    distribution, truth = PLANTED[family]
    step = distribution.std() / 3
    fit = fit_distribution(
        Readings.of(np.round(drawn(distribution) / step) * step, step=step), family
    )
    assert fit.converged
    assert fit.notes == ()
    for one, true in zip(fit.parameters, truth, strict=True):
        assert abs(one.estimate - true) < 5 * one.standard_error, one


def test_planted_extreme_values_come_back() -> None:
    """scipy's shape is minus the usual one, and it knows maxima only."""
    values = -drawn(stats.genextreme(0.2, loc=-4.0, scale=0.3))
    fit = fit_distribution(Readings.of(np.round(values, 2), step=0.01), "gev-minima")
    for one, true in zip(fit.parameters, (4.0, 0.3, -0.2), strict=True):
        assert abs(one.estimate - true) < 5 * one.standard_error, one


@pytest.mark.parametrize("family", PLANTED)
def test_density_shares_and_quantiles_against_scipy(family) -> None:
    distribution, _ = PLANTED[family]
    fit = fit_distribution(Readings.of(drawn(distribution, 2_000)), family)
    rebuilt = rebuild(family, list(fit.estimates.values()))
    x = np.linspace(*distribution.ppf([0.001, 0.999]), 25)
    assert fit.density(x) == pytest.approx(rebuilt.pdf(x), rel=1e-9)
    assert fit.share_below(x) == pytest.approx(rebuilt.cdf(x), rel=1e-9)
    shares = np.array([0.001, 0.05, 0.5, 0.95, 0.999])
    assert fit.quantile(shares) == pytest.approx(rebuilt.ppf(shares), rel=1e-8)
    assert fit.log_likelihood == pytest.approx(
        float(rebuilt.logpdf(drawn(distribution, 2_000)).sum()), rel=1e-10
    )


def rebuild(family, p):
    return {
        "normal": lambda: stats.norm(*p),
        "lognormal": lambda: stats.lognorm(p[1], scale=math.exp(p[0])),
        "weibull-2": lambda: stats.weibull_min(p[0], scale=p[1]),
        "weibull-3": lambda: stats.weibull_min(p[0], loc=p[2], scale=p[1]),
        "gamma": lambda: stats.gamma(p[0], scale=p[1]),
        "logistic": lambda: stats.logistic(*p),
        "student-t": lambda: stats.t(p[2], loc=p[0], scale=p[1]),
        "skew-normal": lambda: stats.skewnorm(p[2], loc=p[0], scale=p[1]),
        "gumbel-minima": lambda: stats.gumbel_l(*p),
    }[family]()


@pytest.mark.parametrize("family", ALL)
def test_a_change_of_unit_changes_nothing_else(family) -> None:
    values = np.round(drawn(stats.weibull_min(6, scale=4.0), 400), 2)
    plain = fit_distribution(Readings.of(values, step=0.01), family)
    inches = fit_distribution(Readings.of(values / 25.4, step=0.01 / 25.4), family)
    assert inches.log_likelihood == pytest.approx(plain.log_likelihood, abs=1e-6)
    assert inches.quantile([0.01, 0.5]) * 25.4 == pytest.approx(
        plain.quantile([0.01, 0.5]), rel=2e-4
    )


@pytest.mark.parametrize("family", ["normal", "logistic", "student-t"])
def test_symmetric_families_mirror(family) -> None:
    values = drawn(stats.t(4), 200)
    plain = fit_distribution(Readings.of(values), family)
    mirrored = fit_distribution(Readings.of(-values), family)
    assert mirrored.log_likelihood == pytest.approx(plain.log_likelihood, abs=1e-7)
    assert mirrored.parameters[0].estimate == pytest.approx(-plain.parameters[0].estimate, abs=1e-6)


@pytest.mark.parametrize("family", ALL)
def test_counts_are_readings_written_once(family) -> None:
    values = np.round(drawn(stats.gamma(9, scale=0.5), 300), 1)
    distinct, counts = np.unique(values, return_counts=True)
    once = fit_distribution(Readings.of(distinct, counts, step=0.1), family)
    assert (
        once.log_likelihood
        == fit_distribution(Readings.of(values, step=0.1), family).log_likelihood
    )


@pytest.mark.parametrize("family", ALL)
def test_a_narrow_step_agrees_with_the_density(family) -> None:
    """log P(interval) = log density + log step where the step is small."""
    values = np.round(drawn(stats.weibull_min(4, scale=4.0), 150), 4)
    exact = fit_distribution(Readings.of(values), family)
    rounded = fit_distribution(Readings.of(values, step=1e-4), family)
    assert rounded.log_likelihood - 150 * math.log(1e-4) == pytest.approx(
        exact.log_likelihood, abs=1e-4
    )


def test_normal_has_its_closed_form() -> None:
    values = drawn(stats.norm(4.6, 0.3), 50)
    fit = fit_distribution(Readings.of(values), "normal")
    error = values.std() / math.sqrt(50)
    assert fit.estimates == pytest.approx({"mean": values.mean(), "sd": values.std()}, rel=1e-7)
    assert fit.parameters[0].standard_error == pytest.approx(error, rel=1e-6)
    assert fit.parameters[1].standard_error == pytest.approx(error / math.sqrt(2), rel=1e-6)


def test_extreme_value_and_its_limits_are_ordered() -> None:
    values = drawn(stats.gumbel_l(4.2, 0.2), 80)
    readings = Readings.of(values)
    gumbel = fit_distribution(readings, "gumbel-minima").log_likelihood
    weibull = fit_distribution(readings, "weibull-3")
    extreme = fit_distribution(readings, "gev-minima")
    assert extreme.log_likelihood >= max(gumbel, weibull.log_likelihood) - 1e-6
    if extreme.estimates["shape"] < -0.02:
        assert weibull.log_likelihood == pytest.approx(extreme.log_likelihood, abs=1e-5)


def test_ten_million_readings_with_one_far_below_do_not_stop_the_search() -> None:
    """The least reading of very many fixes where the lower end may lie."""
    k = np.arange(300, 600)
    counts = np.maximum(1, np.rint(1e7 * 0.01 * stats.norm(4.6, 0.3).pdf(k * 0.01)))
    readings = Readings.of_steps(k, counts, 0.01)
    for family in ALL:
        fit = fit_distribution(readings, family)
        assert fit.converged or "do not use this fit" in fit.notes[0], family
        assert fit.converged or family == "normal-mixture"  # of one normal: nothing to find
    extreme, weibull = (fit_distribution(readings, f) for f in ("gev-minima", "weibull-3"))
    assert extreme.log_likelihood == pytest.approx(weibull.log_likelihood, abs=1e-2)


def test_a_censored_sample_is_not_taken_at_its_limit() -> None:
    values = drawn(stats.norm(4.6, 0.3), 5_000)
    kept, below = values[values > 4.4], int((values <= 4.4).sum())
    fit = fit_distribution(Readings.of(kept, below={4.4: below}), "normal")
    for one, true in zip(fit.parameters, (4.6, 0.3), strict=True):
        assert abs(one.estimate - true) < 4 * one.standard_error
    cut = fit_distribution(Readings.of(kept, window=(4.4, math.inf)), "normal")
    for one, true in zip(cut.parameters, (4.6, 0.3), strict=True):
        assert abs(one.estimate - true) < 4 * one.standard_error
    assert cut.parameters[0].standard_error > fit.parameters[0].standard_error


def test_trouble_is_said_in_words() -> None:
    normal = Readings.of(np.round(stats.norm(4.6, 0.3).ppf((np.arange(200) + 0.5) / 200), 3))
    bounded = fit_distribution(normal, "student-t")
    assert bounded.at_boundary
    assert "cannot be told from those of a normal" in bounded.notes[0]
    assert math.isnan(bounded.parameters[2].standard_error)
    crowded = fit_distribution(Readings.of(drawn(stats.expon(3.0), 40)), "weibull-3")
    assert crowded.at_boundary
    assert "ran up to the least reading" in crowded.notes[0]


def test_a_runaway_lower_end_is_said_in_words() -> None:
    longer = Readings.of(-stats.pareto(3).ppf((np.arange(80) + 0.5) / 80))
    away = fit_distribution(longer, "weibull-3")
    assert away.at_boundary
    assert "The lower end ran away" in away.notes[0]


def test_families_side_by_side() -> None:
    values = np.round(drawn(stats.norm(4.6, 0.3), 600), 2)
    found = compare_families(Readings.of(values, step=0.01))
    assert sum(found.weights.values()) == pytest.approx(1)
    # two that are one distribution differ by rounding alone, and by it otherwise on each machine
    assert min(np.diff([fit.aicc for fit in found.fits])) > -1e-6
    assert found.weights["normal"] > 0.2
    assert found.weights["gumbel-minima"] < 1e-6
    weighed = [fit.aicc for fit in found.fits if found.weights[fit.family] > 0]
    assert found.best.aicc == pytest.approx(min(weighed), abs=1e-6)
    negative = compare_families(Readings.of(values - 4.6, step=0.01))
    assert set(negative.refused) == {"lognormal", "weibull-2", "gamma"}
    assert "needs values above 0" in negative.refused["gamma"]


def test_two_names_of_one_distribution_stand_in_the_order_of_the_list() -> None:
    """With a lower end the extreme value for minima is the Weibull of three parameters."""
    for seed in range(4):
        values = np.round(3 + np.random.default_rng(seed).weibull(2.2, 120), 2)
        names = ("normal", "weibull-3", "gev-minima")
        for listed in (names, names[::-1]):
            found = compare_families(Readings.of(values, step=0.01), listed)
            assert found.weights["weibull-3"] == found.weights["gev-minima"] > 0.3
            same = [fit.family for fit in found.fits if fit.family != "normal"]
            assert same == [name for name in listed if name != "normal"]
            assert found.best.family == same[0]


def test_aicc_and_bic_by_their_formulas() -> None:
    fit = fit_distribution(Readings.of(drawn(stats.norm(4.6, 0.3), 25)), "normal")
    assert fit.aicc == pytest.approx(-2 * fit.log_likelihood + 4 + 2 * 2 * 3 / (25 - 2 - 1))
    assert fit.bic == pytest.approx(-2 * fit.log_likelihood + 2 * math.log(25))


class TestProfiles:
    readings = Readings.of(np.round(drawn(stats.norm(4.6, 0.3), 60), 2), step=0.01)

    def test_a_normal_mean_has_nearly_its_t_interval(self) -> None:
        fit = fit_distribution(self.readings, "normal")
        found = parameter_interval(fit, "mean")
        n, q = 60, stats.chi2(1).ppf(0.95)
        half = fit.estimates["sd"] * math.sqrt(math.expm1(q / n))  # closed form of the profile
        assert (found.low, found.high) == pytest.approx(
            (fit.estimates["mean"] - half, fit.estimates["mean"] + half), abs=2e-5
        )

    def test_the_median_is_the_mean_of_a_normal(self) -> None:
        fit = fit_distribution(self.readings, "normal")
        mean, median = parameter_interval(fit, "mean"), quantile_interval(fit, 0.5)
        assert (median.low, median.high) == pytest.approx((mean.low, mean.high), abs=1e-6)

    @pytest.mark.parametrize("family", ["normal", "weibull-2", "gev-minima", "skew-normal"])
    def test_quantiles_and_shares_are_each_others_inverse(self, family) -> None:
        fit = fit_distribution(self.readings, family)
        low = quantile_interval(fit, 0.02).low
        assert share_below_interval(fit, low).high == pytest.approx(0.02, rel=2e-3)

    def test_a_limit_below_the_fitted_end_still_has_an_interval(self) -> None:
        sample = 4 + stats.weibull_min(2.5).ppf((np.arange(40) + 0.5) / 40)
        fit = fit_distribution(Readings.of(sample), "weibull-3")
        limit = fit.estimates["lower_end"] - 0.05
        found = share_below_interval(fit, limit)
        assert (found.estimate, found.low) == (0, 0)
        assert 0 < found.high < 0.1
        assert quantile_interval(fit, found.high).low == pytest.approx(limit, abs=1e-4)
        far = share_below_interval(fit, fit.estimates["lower_end"] - 3)
        assert far.high < found.high
        top = fit_distribution(Readings.of(-sample), "gev-minima")
        mirrored = share_below_interval(top, -2.0)
        assert (mirrored.estimate, mirrored.high) == (1, 1)
        assert 0.99 < mirrored.low <= 1

    def test_more_confidence_is_wider(self) -> None:
        fit = fit_distribution(self.readings, "weibull-3")
        narrow, wide = (quantile_interval(fit, 0.01, c) for c in (0.8, 0.99))
        assert wide.low < narrow.low < narrow.estimate < narrow.high < wide.high

    def test_an_end_is_open_where_the_likelihood_levels_off(self) -> None:
        heavy = fit_distribution(
            Readings.of(stats.t(3).ppf((np.arange(30) + 0.5) / 30)), "student-t"
        )
        assert parameter_interval(heavy, "degrees_of_freedom", 0.99).high == math.inf

    def test_refusals(self) -> None:
        fit = fit_distribution(self.readings, "normal")
        with pytest.raises(Refusal, match="has no 'shape'; it has mean, sd"):
            parameter_interval(fit, "shape")
        with pytest.raises(Refusal, match="A share lies between 0 and 1, not at 0"):
            quantile_interval(fit, 0)
        with pytest.raises(Refusal, match="Confidence must lie between 0 and 1"):
            quantile_interval(fit, 0.1, 1.0)
        with pytest.raises(Refusal, match="is it in their unit"):
            share_below_interval(fit, 0.18)  # 4.6 mm would be 0.18 in
        bounded = fit_distribution(
            Readings.of(stats.norm(4.6, 0.3).ppf((np.arange(200) + 0.5) / 200)), "student-t"
        )
        with pytest.raises(Refusal, match="do not determine this figure"):
            parameter_interval(bounded, "degrees_of_freedom")


def test_refusals() -> None:
    few = Readings.of([4.1, 4.2, 4.3, 4.5, 4.6, 4.7, 4.9, 5.0])
    with pytest.raises(Refusal, match="'cauchy' is no family of this room; it has normal"):
        fit_distribution(few, "cauchy")
    with pytest.raises(Refusal, match="from 8 readings: five parameters want at least 20"):
        fit_distribution(few, "normal-mixture")
    with pytest.raises(Refusal, match=r"8 readings do not tell the shape .* at least 10"):
        fit_distribution(few, "gev-minima")
    with pytest.raises(Refusal, match="needs values above 0; the least interval ends at -1"):
        fit_distribution(Readings.of([-1, 1, 2, 3, 4]), "lognormal")
    with pytest.raises(Refusal, match=r"No family could be fitted\. .*above 0"):
        compare_families(Readings.of([-1, 1, 2, 3, 4]), ["lognormal"])
    fit = fit_distribution(few, "normal")
    with pytest.raises(Refusal, match="A share lies between 0 and 1"):
        fit.quantile(1.2)


def test_a_kernel_estimate_ends_where_nothing_was_kept() -> None:
    """A half-normal has density sqrt(2 / pi) at its end; a plain kernel has half of that there."""
    values = np.abs(np.random.default_rng(6).standard_normal(4000))
    cut = kernel_estimate(Readings.of(values, window=(0.0, math.inf)))
    assert cut.x.min() == 0.0
    assert cut.density[0] == pytest.approx(math.sqrt(2 / math.pi), rel=0.1)
    assert np.trapezoid(cut.density, cut.x) == pytest.approx(1.0, abs=0.03)
    plain = kernel_estimate(Readings.of(values), x=[0.0])
    assert plain.density[0] == pytest.approx(math.sqrt(2 / math.pi) / 2, rel=0.1)


@pytest.mark.filterwarnings("error")
def test_an_interval_far_out_has_little_mass_and_no_overflow() -> None:
    """In the steep tail of a Gumbel minimum the density falls by e^1000 within a step."""
    family = FAMILIES["gumbel-minima"]
    frame = frame_of(Readings.of([4.1, 4.2, 4.3, 4.5, 4.6], step=0.1), logged=False)
    row = np.array([[0.0, math.log(0.35)]])
    location, scale, _ = family.resolve(row, frame)
    z = np.array([0.0, 8.0])  # in scales; the intervals are half a scale wide
    low, high = (location[0, 0] + scale[0, 0] * end for end in (z, z + 0.5))
    found = family.log_mass(low, high, row, frame)[0]
    expected = math.log(math.exp(-1) - math.exp(-math.exp(0.5)))
    assert found[0] == pytest.approx(expected, rel=1e-9)
    # Nearly all of it lies at the lower end of the interval: exp(-exp(8)).
    assert -math.exp(8.5) < found[1] < -math.exp(8)
