"""Tests of fit: error rates, rounding, censoring, grouping, refits in bulk, refusals.

Error rates are found by p of 99 replicates: with them p keeps its level exactly at each of the
shares asked about.
"""

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.distributions.cells import MOST_CELLS, laid_out
from workbench.inference.distributions.draws import drawn
from workbench.inference.distributions.edf import anderson_darling_cells, cramer_von_mises_cells
from workbench.inference.distributions.fit import fit_distribution
from workbench.inference.distributions.goodness import goodness_of_fit
from workbench.inference.distributions.grouped_goodness import grouped_goodness
from workbench.inference.distributions.readings import Readings
from workbench.inference.distributions.refits import model_of, refitted
from workbench.inference.distributions.samples_drawn import CellSamples, PointSamples

NORMAL = stats.norm(4.6, 0.3)


def in_blocks(seed, blocks=16, bores=4, places=6, spreads=(0.2, 0.12, 0.15), bend=None):
    """Give readings of a nested normal at a step of 0.01, as distinct values with counts."""
    rng = np.random.default_rng(seed)
    bore = np.repeat(np.arange(blocks * bores), places)
    block = bore // bores
    value = (
        spreads[0] * rng.standard_normal(blocks)[block]
        + spreads[1] * rng.standard_normal(blocks * bores)[bore]
        + spreads[2] * rng.standard_normal(bore.size)
    )
    value = np.round(4.6 + (value if bend is None else bend(value)), 2)
    table = pd.DataFrame({"block": block, "bore": bore, "value": value})
    return (
        table.groupby(["block", "bore", "value"], as_index=False)
        .size()
        .rename(columns={"size": "n"})
    )


def samples_of(fit, count, seed=2):
    model = model_of(fit)
    made = drawn(
        laid_out(fit),
        model.family,
        model.row,
        model.frame,
        count=count,
        generator=np.random.default_rng(seed),
    )
    return made, model


@pytest.mark.parametrize("family", ["normal", "gamma", "weibull-3", "student-t", "skew-normal"])
def test_refits_in_bulk_reach_what_single_fits_reach(family) -> None:
    distribution = {"student-t": stats.t(4, 4.6, 0.3), "skew-normal": stats.skewnorm(4, 4, 0.5)}
    values = distribution.get(family, stats.weibull_min(2.5, 3, 1)).ppf((np.arange(80) + 0.5) / 80)
    fit = fit_distribution(Readings.of(values), family)
    samples, model = samples_of(fit, 25)
    _, reached = refitted(samples, model)
    logged = model.family.logged
    single = [
        fit_distribution(Readings.of(np.exp(row) if logged else row), family).log_likelihood
        + (row.sum() if logged else 0.0)  # bulk likelihoods are of logarithms there
        for row in samples.x
    ]
    short = np.array(single) - 80 * reached
    assert np.median(short) < 0.01
    assert (short < 0.2).mean() > 0.9


def test_refits_of_counts_reach_what_single_fits_reach() -> None:
    values = np.round(NORMAL.ppf((np.arange(3000) + 0.5) / 3000), 2)
    fit = fit_distribution(Readings.of(values, step=0.01), "weibull-2")
    samples, model = samples_of(fit, 10)
    rows, _ = refitted(samples, model)
    edges = np.exp(samples.edges)
    for row, counts in zip(rows, samples.counts, strict=True):
        seen = counts > 0
        single = fit_distribution(
            Readings.between(edges[:-1][seen], edges[1:][seen], counts[seen]), "weibull-2"
        )
        at = model.family.natural(row[None], model.frame)[0]
        assert at == pytest.approx(list(single.estimates.values()), rel=5e-3)


def test_p_is_uniform_when_the_family_is_true() -> None:
    rng = np.random.default_rng(4)
    found = []
    for seed in range(120):
        values = np.round(rng.gamma(9, 0.5, 40), 1)
        fit = fit_distribution(Readings.of(values, step=0.1), "gamma")
        found.append([t.p_value for t in goodness_of_fit(fit, seed=seed, replicates=99).tests])
    for share in (0.1, 0.5):
        seen = (np.array(found) <= share).mean(axis=0)
        assert (np.abs(seen - share) < 4 * math.sqrt(share * (1 - share) / 120)).all()


def test_a_wrong_family_is_found_out() -> None:
    values = np.round(stats.gumbel_l(4.6, 0.3).ppf((np.arange(500) + 0.5) / 500), 2)
    normal = goodness_of_fit(fit_distribution(Readings.of(values, step=0.01), "normal"), seed=1)
    gumbel = goodness_of_fit(
        fit_distribution(Readings.of(values, step=0.01), "gumbel-minima"), seed=1
    )
    assert normal.test("anderson-darling").p_value < 0.01
    assert gumbel.test("anderson-darling").p_value > 0.5
    assert normal.distance > gumbel.distance


def test_rounding_is_no_misfit() -> None:
    """Ties would ruin a test that took the values as they stand."""
    values = np.round(NORMAL.rvs(400, random_state=np.random.default_rng(6)), 1)
    rounded = goodness_of_fit(fit_distribution(Readings.of(values, step=0.1), "normal"), seed=1)
    assert min(one.p_value for one in rounded.tests) > 0.05
    assert stats.kstest(values, "norm", args=(values.mean(), values.std())).pvalue < 0.02


def test_the_same_seed_gives_the_same_p_and_a_unit_changes_none() -> None:
    values = np.round(NORMAL.rvs(90, random_state=np.random.default_rng(8)), 2)
    plain = goodness_of_fit(fit_distribution(Readings.of(values), "normal"), seed=3, replicates=499)
    again = goodness_of_fit(fit_distribution(Readings.of(values), "normal"), seed=3, replicates=499)
    inches = goodness_of_fit(
        fit_distribution(Readings.of(values / 25.4), "normal"), seed=3, replicates=499
    )
    assert plain == again
    for one, other in zip(plain.tests, inches.tests, strict=True):
        assert other.statistic == pytest.approx(one.statistic, rel=1e-6)
        assert other.p_value == pytest.approx(one.p_value, abs=0.006)


def test_statistics_of_fine_cells_are_those_of_points() -> None:
    values = np.sort(NORMAL.rvs(200, random_state=np.random.default_rng(9)))
    fit = fit_distribution(Readings.of(values), "normal")
    model = model_of(fit)
    points = laid_out(fit).distances(model.family, model.row[None], model.frame)
    edges = np.concatenate([[-np.inf], np.linspace(3, 6, 40_001), [np.inf]])
    counts = np.histogram(values, edges)[0][None].astype(float)
    shares = np.diff(fit.share_below(edges))[None]
    assert anderson_darling_cells(counts, shares) == pytest.approx(
        points["anderson-darling"], rel=2e-3
    )
    assert cramer_von_mises_cells(counts, shares) == pytest.approx(
        points["cramer-von-mises"], rel=2e-3
    )


class TestLayout:
    def test_few_points_stay_points_and_many_become_cells(self) -> None:
        values = NORMAL.rvs(2_000, random_state=np.random.default_rng(1))
        few = laid_out(fit_distribution(Readings.of(values[:100]), "normal"))
        many = laid_out(fit_distribution(Readings.of(values), "normal"))
        assert isinstance(few, PointSamples)
        assert isinstance(many, CellSamples)
        assert many.size == 2_000
        assert many.counts.shape[1] < MOST_CELLS + 30

    def test_cells_end_where_the_steps_of_the_gauge_end(self) -> None:
        values = np.round(NORMAL.rvs(5_000, random_state=np.random.default_rng(1)), 2)
        cells = laid_out(fit_distribution(Readings.of(values, step=0.01), "normal"))
        inside = cells.edges[1:-1] * 100 - 0.5
        assert inside == pytest.approx(np.round(inside), abs=1e-6)
        assert cells.counts.sum() == 5_000
        for k in range(5, len(cells.edges) - 5, 17):
            below = (values < cells.edges[k]).sum()
            assert cells.counts[0, :k].sum() == below

    def test_censored_readings_are_the_outermost_cells(self) -> None:
        values = np.round(NORMAL.rvs(2_000, random_state=np.random.default_rng(1)), 2)
        kept = values[values > 4.305]
        below = 2_000 - kept.size
        readings = Readings.of(kept, step=0.01, below={4.305: below})
        cells = laid_out(fit_distribution(readings, "normal"))
        assert cells.counts[0, 0] == below
        assert cells.edges[1] == pytest.approx(4.305)

    def test_steps_that_do_not_meet_leave_too_few_cells(self) -> None:
        rng = np.random.default_rng(2)
        fine = Readings.of(np.round(rng.normal(4.6, 0.1, 3_000), 2), step=0.01)
        odd = np.round(rng.normal(4.6, 0.1, 3_000) / 0.0254) * 0.0254
        both = fine.together(Readings.of(odd, step=0.0254))
        with pytest.raises(Refusal, match="steps of two gauges share no edges"):
            laid_out(fit_distribution(both, "normal"))


class TestCensoredAndTruncated:
    def test_true_families_pass(self) -> None:
        values = np.round(NORMAL.rvs(600, random_state=np.random.default_rng(12)), 2)
        kept = values[values > 4.405]
        censored = Readings.of(kept, step=0.01, below={4.405: 600 - kept.size})
        truncated = Readings.of(kept, step=0.01, window=(4.405, math.inf))
        points = NORMAL.rvs(150, random_state=np.random.default_rng(13))
        seen = Readings.of(points[points > 4.4], window=(4.4, math.inf))
        for readings in (censored, truncated, seen):
            fit = fit_distribution(readings, "normal")
            found = goodness_of_fit(fit, seed=1, replicates=499)
            assert found.test("anderson-darling").p_value > 0.05

    def test_cut_off_readings_fail_when_the_window_is_not_told(self) -> None:
        values = NORMAL.rvs(900, random_state=np.random.default_rng(12))
        fit = fit_distribution(Readings.of(values[values > 4.5]), "normal")
        assert goodness_of_fit(fit, seed=1, replicates=499).test("anderson-darling").p_value < 0.01


class TestGrouped:
    def test_readings_in_blocks_alarm_only_the_test_that_ignores_blocks(self) -> None:
        found = [
            grouped_goodness(in_blocks(seed), "normal", step=0.01, seed=seed, replicates=99)
            for seed in range(60)
        ]
        alone = np.mean([f.independent.test("anderson-darling").p_value <= 0.05 for f in found])
        grouped = np.mean([f.grouped.test("anderson-darling").p_value <= 0.05 for f in found])
        assert alone > 0.15
        assert grouped <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 60)
        assert all(f.counts == "grouped" and f.deciding is f.grouped for f in found)

    def test_shares_of_variance_are_those_planted(self) -> None:
        data = in_blocks(3, blocks=300, places=8)
        found = grouped_goodness(data, "normal", step=0.01, seed=1, replicates=99)
        total = 0.2**2 + 0.12**2 + 0.15**2
        assert found.alike["block"] == pytest.approx(0.2**2 / total, abs=0.08)
        assert found.alike["bore"] == pytest.approx(0.12**2 / total, abs=0.03)

    def test_a_bent_family_is_found_out_in_spite_of_blocks(self) -> None:
        data = in_blocks(5, blocks=60, bend=lambda x: 0.25 * np.expm1(4 * x) / 4 * 3)
        found = grouped_goodness(data, "normal", step=0.01, seed=1, replicates=499)
        assert found.deciding.test("anderson-darling").p_value < 0.01

    def test_independent_readings_give_both_tests_the_same_answer(self) -> None:
        data = in_blocks(6, spreads=(0.0, 0.0, 0.3))
        found = grouped_goodness(data, "normal", step=0.01, seed=1, replicates=999)
        assert sum(found.alike.values()) < 0.05
        one, other = (
            half.test("anderson-darling").p_value for half in (found.independent, found.grouped)
        )
        assert other == pytest.approx(one, abs=0.1)

    def test_of_very_many_blocks_some_are_taken_by_lot(self) -> None:
        data = in_blocks(7, blocks=1200)
        found = grouped_goodness(data, "normal", step=0.01, seed=1, replicates=99)
        assert found.of_blocks == 1200
        assert found.blocks < 900
        assert found.grouped.readings <= 20_000

    def test_refusals(self) -> None:
        data = in_blocks(1, blocks=4)
        with pytest.raises(Refusal, match="from 4 blocks; at least 5"):
            grouped_goodness(data, "normal", step=0.01, seed=1)
        with pytest.raises(Refusal, match="no column 'bore'"):
            grouped_goodness(data.drop(columns="bore"), "normal", step=0.01, seed=1)
        with pytest.raises(Refusal, match="not 3"):
            grouped_goodness(data, "normal", step=0.01, seed=1, nesting=["a", "b", "c"])


def test_refusals() -> None:
    fit = fit_distribution(Readings.of(NORMAL.ppf((np.arange(30) + 0.5) / 30)), "normal")
    with pytest.raises(Refusal, match="20 drawn samples give no usable p; at least 99"):
        goodness_of_fit(fit, seed=1, replicates=20)
    found = goodness_of_fit(fit, seed=1, replicates=99)
    with pytest.raises(Refusal, match=r"The test is one of anderson-darling, .* not 'lilliefors'"):
        found.test("lilliefors")


class TestGroupedAndTruncated:
    """Readings in blocks, of which nothing below a value was kept."""

    CUT = 4.405

    def test_a_true_family_passes_where_the_window_is_told_and_fails_where_not(self) -> None:
        data = in_blocks(5, blocks=60)
        kept = data[data["value"] > self.CUT]
        asked = {"step": 0.01, "seed": 1, "replicates": 199}
        told = grouped_goodness(kept, "normal", window=(self.CUT, math.inf), **asked)
        assert told.deciding.test("anderson-darling").p_value > 0.05
        untold = grouped_goodness(kept, "normal", **asked)
        assert untold.deciding.test("anderson-darling").p_value < 0.05

    def test_how_alike_readings_are_is_told_of_what_was_kept(self) -> None:
        """Normal scores of what was kept are standard normal, whatever was cut off."""
        data = in_blocks(3, blocks=300, places=8)
        kept = data[data["value"] > self.CUT]
        found = grouped_goodness(
            kept, "normal", step=0.01, seed=1, replicates=99, window=(self.CUT, math.inf)
        )
        whole = grouped_goodness(data, "normal", step=0.01, seed=1, replicates=99)
        assert found.fit.estimates == pytest.approx(whole.fit.estimates, rel=0.1)
        assert 0.5 * whole.alike["block"] < found.alike["block"] < whole.alike["block"]

    def test_false_alarms_are_as_rare_as_they_should_be(self) -> None:
        found = []
        for seed in range(60):
            data = in_blocks(seed)
            kept = data[data["value"] > self.CUT]
            window = (self.CUT, math.inf)
            asked = {"step": 0.01, "seed": seed, "replicates": 99, "window": window}
            grouped = grouped_goodness(kept, "normal", **asked).grouped
            found.append(grouped.test("anderson-darling").p_value <= 0.05)
        assert np.mean(found) <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 60)
