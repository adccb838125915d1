import math

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr
from scipy.stats import invwishart

from workbench.errors import Refusal
from workbench.inference.noncentral import noncentrality_interval
from workbench.inference.shares.passing import (
    DRAWS,
    _covariance_roots,
    box_chances,
    passing_draws,
    passing_share,
)

INF = math.inf


def share(figures, lower, upper, seed=1, confidence=0.95):
    return passing_share(
        figures, lower, upper, generator=np.random.default_rng(seed), confidence=confidence
    )


def test_one_figure_and_one_limit_is_the_noncentral_t_interval() -> None:
    """Share above 3 of a normal sample; the exact interval inverts noncentral t."""
    values = np.random.default_rng(2).normal(3.6, 0.4, 25)
    k = (values.mean() - 3) / values.std(ddof=1)
    ends = noncentrality_interval(5 * k, 24)
    found = share(values[:, None], [3.0], [INF])
    assert found.low == pytest.approx(ndtr(ends.low / 5), abs=0.015)
    assert found.high == pytest.approx(ndtr(ends.high / 5), abs=0.005)
    assert found.estimate == pytest.approx(ndtr(k), abs=0.02)


def test_two_figures_that_know_nothing_of_each_other_multiply() -> None:
    rng = np.random.default_rng(3)
    figures = rng.normal(size=(400, 2))
    found = share(figures, [-1.0, -INF], [INF, 1.5])
    assert found.low < ndtr(1.0) * ndtr(1.5) < found.high
    assert found.high - found.low < 0.12


def test_a_figure_that_follows_the_other_takes_nothing_more() -> None:
    rng = np.random.default_rng(4)
    first = rng.normal(size=300)
    figures = np.column_stack([first, first + rng.normal(0, 0.01, 300)])
    together = share(figures, [0.5, 0.5], [INF, INF])
    alone = share(figures[:, :1], [0.5], [INF])
    assert together.estimate == pytest.approx(alone.estimate, abs=0.02)


def test_drawn_covariances_are_inverse_wishart() -> None:
    scatter = np.array([[4.0, 1.0], [1.0, 2.0]])
    rng = np.random.default_rng(5)
    roots = _covariance_roots(np.linalg.cholesky(scatter), 12, rng, 20_000)
    drawn = roots @ roots.transpose(0, 2, 1)
    known = invwishart(df=12, scale=scatter)
    assert drawn.mean(axis=0) == pytest.approx(known.mean(), rel=0.02)
    assert drawn[:, 0, 0].var() == pytest.approx(known.var()[0, 0], rel=0.1)
    assert drawn[:, 1, 1].var() == pytest.approx(known.var()[1, 1], rel=0.1)


def test_units_do_not_matter_and_a_seed_gives_one_answer() -> None:
    values = np.random.default_rng(6).normal(4, 0.3, (15, 2))
    plain = share(values, [3.5, 3.8], [INF, INF])
    inches = share(values / 25.4, np.array([3.5, 3.8]) / 25.4, [INF, INF])
    assert inches.low == pytest.approx(plain.low, abs=2e-3)
    assert share(values, [3.5, 3.8], [INF, INF]) == plain


def test_interval_covers() -> None:
    rng = np.random.default_rng(7)
    truth = float(ndtr(1.0)) * float(ndtr(0.5))
    hits = sum(
        share(rng.normal(size=(12, 2)), [-1.0, -0.5], [INF, INF], seed, 0.9).contains(truth)
        for seed in range(60)
    )
    assert hits / 60 == pytest.approx(0.9, abs=0.11)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="3 blocks are too few for 2 figures; 4"):
        share(np.ones((3, 2)), [0, 0], [1, 1])
    with pytest.raises(Refusal, match="does not vary"):
        share(np.ones((8, 1)), [0], [1])
    with pytest.raises(Refusal, match="finite"):
        share([[1.0], [math.nan], [2.0]], [0], [1])
    with pytest.raises(Refusal, match="as many limits"):
        share(np.ones((8, 2)), [0], [1, 1])


def test_boxes_against_a_library_also_where_next_to_nothing_passes() -> None:
    """scipy's multivariate normal distribution function, by its own quadrature."""
    covariance = np.array([[1.0, 0.6, 0.2], [0.6, 2.0, -0.5], [0.2, -0.5, 1.5]])
    roots = np.linalg.cholesky(covariance)[None]
    library = stats.multivariate_normal(mean=np.zeros(3), cov=covariance, abseps=1e-9, releps=1e-6)
    for low in ([0.0, -1.0, 0.5], [2.5, 3.5, 1.0], [3.0, 4.5, -math.inf]):
        high = np.full(3, math.inf)
        found = box_chances(np.array([low]), high[None], roots, np.random.default_rng(1))[0]
        expected = library.cdf(high, lower_limit=np.array(low))
        assert 0 < found == pytest.approx(expected, rel=0.02)


def test_an_error_of_all_figures_together_shifts_the_family() -> None:
    """Of very many blocks only the shared error is left: Phi((mean - limit - error) / spread).

    By hand, mean 0.5 spreads inside and an error of 0.3 spreads: the share is Phi of a normal of
    mean 0.5 and standard deviation 0.3, so its ends at 95 % are Phi(0.5 -+ 1.96 * 0.3).
    """
    rng = np.random.default_rng(4)
    values = rng.normal(size=20_000)
    values = 0.5 + (values - values.mean()) / values.std(ddof=1)
    shifts = 0.3 * stats.norm.ppf((np.arange(DRAWS) + 0.5) / DRAWS)
    drawn = passing_draws(values[:, None], [0.0], [INF], generator=rng, shifts=shifts[:, None])
    low, middle, high = np.quantile(drawn, [0.025, 0.5, 0.975])
    assert low == pytest.approx(ndtr(0.5 - 1.96 * 0.3), abs=0.006)
    assert middle == pytest.approx(ndtr(0.5), abs=0.004)
    assert high == pytest.approx(ndtr(0.5 + 1.96 * 0.3), abs=0.006)


def test_shifts_of_another_shape_are_refused() -> None:
    figures = np.random.default_rng(5).normal(size=(20, 1))
    for shifts in (np.zeros((DRAWS, 2)), np.zeros(DRAWS)):
        with pytest.raises(Refusal, match="Shifts come in 2000 draws of 1 figures"):
            passing_draws(figures, [0.0], [INF], generator=np.random.default_rng(1), shifts=shifts)
    with pytest.raises(Refusal, match="Every shift must be a finite number"):
        passing_draws(
            figures,
            [0.0],
            [INF],
            generator=np.random.default_rng(1),
            shifts=np.full((DRAWS, 1), math.nan),
        )
