"""The bootstrap of quantiles without drawing: every draw listed, scipy's, a printed error."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.special import betainc

from workbench.errors import Refusal
from workbench.inference.resampling.blocks import bootstrap_blocks
from workbench.inference.resampling.quantiles import bootstrap_quantile

WALLS = np.array([4.137, 4.402, 3.911, 4.688, 4.253, 4.319])
MICE = {
    "treated": [94, 197, 16, 38, 99, 141, 23],
    "untreated": [52, 104, 146, 10, 51, 30, 40, 27, 46],
}
SHARES = [0.5, 0.1, 0.25, 0.4, 0.9]


@pytest.mark.parametrize("size", [5, 6])
@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("tied", [False, True])
def test_every_draw_listed(size: int, share: float, tied: bool) -> None:
    """All 3125 (or 46 656) draws: the same chances, and the same deviation."""
    row = np.round(WALLS[:size], 0 if tied else 3)
    drawn = np.quantile(np.array(list(product(row, repeat=size))), share, axis=1)
    found = bootstrap_quantile(row, share)
    assert found.estimate == pytest.approx(np.quantile(row, share))
    assert found.standard_error == pytest.approx(drawn.std())
    for value in np.unique(np.round(drawn, 9)):
        assert found.chance_up_to(value + 1e-7) == pytest.approx(np.mean(drawn <= value + 1e-7))


def test_efron_and_tibshirani_print_the_error_of_a_median() -> None:
    """With ever more draws 37.83 days (their book of 1993, table 2.2; from memory)."""
    assert bootstrap_quantile(MICE["treated"]).standard_error == pytest.approx(37.83, abs=0.005)


@pytest.mark.parametrize("group", list(MICE))
def test_maritz_and_jarrett_weigh_the_order_statistics(group: str) -> None:
    """Odd counts: weights of a beta distribution (Maritz and Jarrett 1978), from scipy."""
    row = np.sort(MICE[group]).astype(float)
    n, rank = row.size, (row.size + 1) / 2
    weights = np.diff(betainc(rank, n - rank + 1, np.arange(n + 1) / n))
    first, second = weights @ row, weights @ row**2
    error = bootstrap_quantile(MICE[group]).standard_error
    assert error == pytest.approx(np.sqrt(second - first**2))


@pytest.mark.parametrize("method", ["bca", "percentile"])
@pytest.mark.parametrize("share", [0.5, 0.1, 0.93])
@pytest.mark.parametrize("size", [36, 37])
def test_scipys_many_draws_tend_to_it(method: str, share: float, size: int) -> None:
    """Hardly a draw lies between the ends found and those of 40 000 draws by scipy."""
    row = np.random.default_rng(1).gamma(8, 0.5, size)

    def figure(values: np.ndarray, axis: int) -> np.ndarray:
        return np.quantile(values, share, axis=axis)

    theirs = stats.bootstrap(
        (row,),
        figure,
        n_resamples=40_000,
        vectorized=True,
        confidence_level=0.9,
        method={"bca": "BCa", "percentile": "percentile"}[method],
        rng=1,
    )
    found = bootstrap_quantile(row, share)
    ours = found.interval(0.9, method)
    assert found.standard_error == pytest.approx(theirs.standard_error, rel=0.02)
    for mine, other in zip((ours.low, ours.high), theirs.confidence_interval, strict=True):
        low, high = sorted((mine, float(other)))
        assert found.chance_up_to(high - 1e-9) - found.chance_up_to(low + 1e-9) < 0.01


def test_our_own_draws_tend_to_it() -> None:
    row = np.random.default_rng(5).gamma(8, 0.5, 60)
    drawn = bootstrap_blocks(row, np.median, seed=1, resamples=100_000)
    found = bootstrap_quantile(row)
    assert found.acceleration == pytest.approx(drawn.acceleration, abs=1e-9)
    assert found.bias_correction == pytest.approx(drawn.bias_correction, abs=0.015)
    assert found.standard_error == pytest.approx(drawn.standard_error, rel=0.01)


@given(st.lists(st.integers(0, 40), min_size=5, max_size=30), st.sampled_from(SHARES))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_units_and_turning_change_nothing_else(steps: list[int], share: float) -> None:
    row = np.array(steps) / 10 + 3
    if np.ptp(row) == 0:
        return
    found = bootstrap_quantile(row, share)
    inches = bootstrap_quantile(row / 25.4, share)
    turned = bootstrap_quantile(-row, 1 - share)
    assert found.chances[-1] == pytest.approx(1.0)
    assert inches.standard_error * 25.4 == pytest.approx(found.standard_error, rel=1e-9, abs=1e-12)
    assert turned.standard_error == pytest.approx(found.standard_error, rel=1e-6, abs=1e-9)
    assert turned.estimate == pytest.approx(-found.estimate)
    wide, narrow = found.interval(0.95), found.interval(0.5)
    assert wide.low <= narrow.low <= narrow.high <= wide.high


@pytest.mark.parametrize("size", [2000, 2001])
def test_many_blocks_follow_the_normal_limit(size: int) -> None:
    """The error of a median tends to 1 / (2 f sqrt(n)), f the density there (Laplace)."""
    row = stats.norm.ppf((np.arange(size) + 0.5) / size)
    limit = 1 / (2 * stats.norm.pdf(0) * np.sqrt(size))
    assert bootstrap_quantile(row).standard_error == pytest.approx(limit, rel=0.02)


def test_few_blocks_are_warned_of() -> None:
    assert "With 6 blocks" in (bootstrap_quantile(WALLS).warning or "")
    assert bootstrap_quantile(np.arange(20.0)).warning is None


def test_refusals() -> None:
    with pytest.raises(Refusal, match="holds 4 numbers; at least 5"):
        bootstrap_quantile([4.1, 4.2, 4.3, 4.4])
    with pytest.raises(Refusal, match="between 0 and 1, not at 1"):
        bootstrap_quantile(WALLS, 1)
    with pytest.raises(Refusal, match="percentile"):
        bootstrap_quantile(WALLS).interval(method="studentised")
    with pytest.raises(Refusal, match="the family"):
        bootstrap_quantile([4.0] * 6)
    with pytest.raises(Refusal, match="finite"):
        bootstrap_quantile([4.0, 4.1, 4.2, 4.3, np.nan])
