"""The statistics beside their peers: nested fits, fits of distributions, resampling of blocks."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from typing import Any

import bench_nested
import numpy as np
from bench_distributions import PEERS, reduced, walls
from peer_time import Way, spent

SAMPLE, DRAWS = 100_000, 10_000


def nested(count: int) -> Way:
    """Give our nested fit with its contrast."""

    def way() -> float:
        from workbench.inference.nested.fit import nested_fit

        table = bench_nested.readings(count)

        def fit() -> None:
            nested_fit(
                table, response="wall", fixed=["family", "station"], nesting=["block", "bore"]
            ).contrast("family", "works", "deepdeck")

        fit()
        return spent(fit, 5)

    return way


def mixed_by_statsmodels() -> float:
    """Give the fit alone of statsmodels; it starts no process and has one thread."""
    return bench_nested.time_mixedlm(3_840)["best"]


def lme4(count: int, also: str = "") -> Way:
    """Give the fit of lme4 as R counts its own time; with `pbkrtest` its adjusted freedom."""

    def way() -> float:
        script = bench_nested.R_SCRIPT
        bench_nested.R_SCRIPT = script.replace('[["elapsed"]]', '[["user.self"]]')
        took = bench_nested.time_r(count)
        return took["best"] + (took[also] if also else 0.0)

    return way


def fits_here() -> float:
    """Fit ten families to the distinct values; the reduction to them is not counted."""
    from workbench.inference.distributions.fit import fit_distribution

    readings = reduced(np.round(walls(SAMPLE), 2), 0.01)
    return spent(lambda: [fit_distribution(readings, family) for family in PEERS], 3)


def fits_by_scipy() -> float:
    """Fit the same families value by value."""
    values = np.round(walls(SAMPLE), 2)

    def fit() -> None:
        for family, (peer, fixed) in PEERS.items():
            peer.fit(-values if family == "gev-minima" else values, **fixed)  # type: ignore[attr-defined]

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return spent(fit)


def figures(blocks: int) -> tuple[np.ndarray, np.ndarray]:
    """Draw one figure a block for two families."""
    own, other = np.random.default_rng(20261125).gamma(8, 0.5, (2, blocks))
    return own, other


def median_here() -> float:
    """Bootstrap the median of 500 blocks in closed form, BCa."""
    from workbench.inference.resampling.quantiles import bootstrap_quantile

    own, _ = figures(500)
    bootstrap_quantile(own).interval()
    return spent(lambda: bootstrap_quantile(own).interval(), 200)


def drawn_here() -> float:
    """Bootstrap a figure of 500 blocks by drawing, the median, BCa."""
    from workbench.inference.resampling.blocks import bootstrap_blocks

    own, _ = figures(500)
    return spent(lambda: bootstrap_blocks((own,), np.median, seed=1).interval(), 2)


def mean_here() -> float:
    """Bootstrap the mean of 500 blocks, in closed form."""
    from workbench.inference.resampling.means import bootstrap_mean

    own, _ = figures(500)
    bootstrap_mean(own).interval()
    return spent(lambda: bootstrap_mean(own).interval(), 200)


def bootstrap_by_scipy(figure: Callable[..., Any]) -> Way:
    """Give scipy's bootstrap of the same figure, as quick as it can be called."""

    def way() -> float:
        from scipy import stats

        own, _ = figures(500)
        return spent(
            lambda: stats.bootstrap(
                (own,), figure, n_resamples=DRAWS, vectorized=True, method="BCa", rng=1
            )
        )

    return way


def permuted_here() -> float:
    """Deal 60 blocks and 60 blocks anew."""
    from workbench.inference.resampling.permutation import permute_blocks

    own, other = figures(60)
    permute_blocks(own, other, seed=1).p_value(0.0)
    return spent(lambda: permute_blocks(own, other, seed=1).p_value(0.0), 50)


def permuted_by_scipy() -> float:
    """Deal them as scipy does, with as many draws."""
    from scipy import stats

    own, other = figures(60)

    def apart(a: np.ndarray, b: np.ndarray, axis: int) -> Any:
        return a.mean(axis=axis) - b.mean(axis=axis)

    return spent(
        lambda: stats.permutation_test(
            (own, other), apart, n_resamples=9_999, vectorized=True, rng=1
        )
    )
