"""The bootstrap of blocks: invariances, coverage, warnings, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.resampling.blocks import bootstrap_blocks
from workbench.inference.resampling.few_blocks import resampled_coverage

WALLS = np.array([4.1, 4.4, 3.9, 4.6, 4.2, 4.3, 4.0, 4.5, 4.9, 4.2])
DECKS = np.array([9.1, 9.4, 8.8, 9.0, 9.3, 9.9, 9.2, 9.1])


def difference(own, other, axis):
    return own.mean(axis=axis) - other.mean(axis=axis)


def pooled_mean(sums, axis):
    """Give the mean of all readings from (count, sum) a block."""
    return sums[..., 1].sum(axis=axis) / sums[..., 0].sum(axis=axis)


def error_of_mean(values, axis):
    return values.std(axis=axis, ddof=1) / np.sqrt(values.shape[axis])


@pytest.mark.parametrize("method", ["bca", "percentile", "studentised"])
def test_unit_and_origin_move_with_the_interval(method: str) -> None:
    plain = bootstrap_blocks(WALLS, np.mean, seed=1, standard_error=error_of_mean)
    moved = bootstrap_blocks(WALLS / 25.4 + 7, np.mean, seed=1, standard_error=error_of_mean)
    there, here = moved.interval(0.9, method), plain.interval(0.9, method)
    assert (there.low, there.high) == pytest.approx((here.low / 25.4 + 7, here.high / 25.4 + 7))


def test_the_seed_decides_and_nothing_else() -> None:
    first, second = (bootstrap_blocks(WALLS, np.median, seed=9) for _ in range(2))
    assert (first.replicates == second.replicates).all()
    other = bootstrap_blocks(WALLS, np.mean, seed=10).interval()
    again = bootstrap_blocks(WALLS, np.mean, seed=9).interval()
    assert other != again
    assert (other.low, other.high) == pytest.approx((again.low, again.high), abs=0.02)


def test_swapped_families_mirror_the_interval() -> None:
    forward = bootstrap_blocks((DECKS, WALLS), difference, seed=1, resamples=50_000)
    back = bootstrap_blocks((WALLS, DECKS), difference, seed=2, resamples=50_000)
    assert back.estimate == -forward.estimate
    assert back.acceleration == pytest.approx(-forward.acceleration)
    assert back.interval().low == pytest.approx(-forward.interval().high, abs=0.02)


def test_rows_of_sums_give_what_the_readings_give() -> None:
    counts = np.array([4, 9, 2, 7, 5, 5])
    sums = np.column_stack([counts, counts * DECKS[:6]])
    found = bootstrap_blocks(sums, pooled_mean, seed=3)
    assert found.estimate == pytest.approx(np.average(DECKS[:6], weights=counts))
    equal = bootstrap_blocks(np.column_stack([np.ones(8), DECKS]), pooled_mean, seed=3)
    assert equal.standard_error == pytest.approx(DECKS.std() / math.sqrt(8), rel=0.03)


def test_error_of_a_difference_adds_up() -> None:
    """Variances of the two families' means add: closed form of the ideal bootstrap."""
    found = bootstrap_blocks((DECKS, WALLS), difference, seed=3, resamples=40_000)
    ideal = math.sqrt(DECKS.var() / 8 + WALLS.var() / 10)
    assert found.standard_error == pytest.approx(ideal, rel=0.02)


def test_scipy_agrees_on_a_skewed_figure() -> None:
    def ratio(own, other, axis):
        return own.mean(axis=axis) / other.std(axis=axis)

    values = np.random.default_rng(6).lognormal(size=60)
    other = np.random.default_rng(7).lognormal(size=40)
    ours = bootstrap_blocks((values, other), ratio, seed=1, resamples=40_000).interval(0.9)
    theirs = stats.bootstrap(
        (values, other), ratio, n_resamples=40_000, confidence_level=0.9, rng=2
    ).confidence_interval
    assert (ours.low, ours.high) == pytest.approx((theirs.low, theirs.high), rel=0.02)


@pytest.mark.parametrize("blocks", [4, 8, 16])
def test_coverage_with_few_blocks_is_what_the_warning_says(blocks: int) -> None:
    generator = np.random.default_rng(blocks)
    hits = 0
    for seed in range(800):
        row = generator.normal(size=blocks)
        found = bootstrap_blocks(row, np.mean, seed=seed, resamples=400)
        hits += found.interval(0.95, "percentile").contains(0.0)
    assert hits / 800 == pytest.approx(resampled_coverage(blocks), abs=0.035)
    assert f"With {blocks} blocks" in found.warning
    assert f"{100 * resampled_coverage(blocks):.0f}%" in found.warning


def test_enough_blocks_carry_no_warning() -> None:
    found = bootstrap_blocks(np.arange(20.0), np.mean, seed=1)
    assert found.warning is None
    assert resampled_coverage(20) > 0.925
    with pytest.raises(Refusal, match="1 blocks show no spread"):
        resampled_coverage(1)


def test_studentised_covers_better_with_few_blocks() -> None:
    generator = np.random.default_rng(11)
    hits = {"studentised": 0, "percentile": 0}
    for seed in range(400):
        row = generator.normal(size=8)
        found = bootstrap_blocks(
            row, np.mean, seed=seed, resamples=600, standard_error=error_of_mean
        )
        for method in hits:
            hits[method] += found.interval(0.95, method).contains(0.0)
    assert hits["studentised"] > hits["percentile"]


def test_draws_without_a_value_are_left_out_and_counted() -> None:
    def mean_of_large(values, axis):
        return np.where(values > 4.55, values, 0).sum(axis) / (values > 4.55).sum(axis)

    with pytest.raises(Refusal, match=r"no value in \d+ of 10000 draws"):
        bootstrap_blocks(WALLS, mean_of_large, seed=1)

    def mean_of_middle(values, axis):
        return np.where(values > 4.25, values, 0).sum(axis) / (values > 4.25).sum(axis)

    found = bootstrap_blocks(WALLS, mean_of_middle, seed=1)
    assert 0 < found.undefined < 30
    assert found.replicates.size == 10_000 - found.undefined


def test_refusals() -> None:
    with pytest.raises(Refusal, match="Family 1 has 2 blocks; drawing them anew needs 3"):
        bootstrap_blocks([1, 2], np.mean, seed=1)
    with pytest.raises(Refusal, match="Family 2 has 1 blocks"):
        bootstrap_blocks((WALLS, 3.0), difference, seed=1)
    with pytest.raises(Refusal, match="Every number of family 1 must be finite"):
        bootstrap_blocks([1, 2, math.nan], np.mean, seed=1)
    with pytest.raises(Refusal, match="Family 1 holds something that is not a number"):
        bootstrap_blocks(["a", "b", "c"], np.mean, seed=1)
    with pytest.raises(Refusal, match="same in every draw"):
        bootstrap_blocks([2, 2, 2], np.mean, seed=1)
    with pytest.raises(Refusal, match="as they are is inf"):
        bootstrap_blocks([2, 2, 2], lambda v, axis: 1 / v.std(axis=axis), seed=1)
    with pytest.raises(Refusal, match="must give one value a draw"):
        bootstrap_blocks(WALLS, lambda v, axis: v, seed=1)
    with pytest.raises(Refusal, match="100 or more, not 50"):
        bootstrap_blocks(WALLS, np.mean, seed=1, resamples=50)


def test_interval_refusals() -> None:
    found = bootstrap_blocks(WALLS, np.mean, seed=1)
    with pytest.raises(Refusal, match="not 'basic'"):
        found.interval(0.95, "basic")
    with pytest.raises(Refusal, match="needs `standard_error`"):
        found.interval(0.95, "studentised")
    with pytest.raises(Refusal, match="Confidence must lie"):
        found.interval(1)
    with pytest.raises(Refusal, match="lie on one side of the estimate"):
        bootstrap_blocks(
            WALLS, lambda v, axis: -np.ptp(v, axis=axis) + (v.size > 10), seed=1
        ).interval()
