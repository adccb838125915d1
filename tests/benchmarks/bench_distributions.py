"""Time of fits, tests of fit and predictions, with scipy's fits on raw values as the peer.

Run ``python tests/benchmarks/bench_distributions.py``. A million invented readings at a step of
0.01 are fitted by scipy value by value, and here by their distinct values with counts, each an
interval; the ratio is between the two in the same run. Then all families on ten million readings,
2 000 replicates of all tests of fit, and 100 000 drawn blocks. ``--no-peer`` leaves scipy out
(it takes minutes).
"""

from __future__ import annotations

import sys
import time
import warnings
from collections.abc import Callable

import numpy as np
import pandas as pd
from scipy import stats

from workbench.inference.distributions.catalogue import FAMILIES
from workbench.inference.distributions.compare import compare_families
from workbench.inference.distributions.fit import fit_distribution
from workbench.inference.distributions.goodness import goodness_of_fit
from workbench.inference.distributions.grouped_goodness import grouped_goodness
from workbench.inference.distributions.readings import Readings
from workbench.inference.extremes.block_minimum import predicted_minimum
from workbench.inference.extremes.share_below import share_below
from workbench.inference.nested.mean_squares import MeanSquare
from workbench.inference.nested.nested_study import NestedSquares

PEERS: dict[str, tuple[object, dict[str, float]]] = {
    "normal": (stats.norm, {}),
    "lognormal": (stats.lognorm, {"floc": 0}),
    "weibull-2": (stats.weibull_min, {"floc": 0}),
    "weibull-3": (stats.weibull_min, {}),
    "gamma": (stats.gamma, {"floc": 0}),
    "logistic": (stats.logistic, {}),
    "student-t": (stats.t, {}),
    "skew-normal": (stats.skewnorm, {}),
    "gumbel-minima": (stats.gumbel_l, {}),
    "gev-minima": (stats.genextreme, {}),
}


def timed(work: Callable[[], object], repeats: int = 3) -> float:
    """Give the least of some times."""
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def walls(count: int) -> np.ndarray:
    """Draw invented walls: a normal with a tail towards thin."""
    rng = np.random.default_rng(count)
    values = rng.normal(4.6, 0.3, count)
    values[::7] -= rng.exponential(0.2, values[::7].size)
    return values


def reduced(values: np.ndarray, step: float) -> Readings:
    """Count distinct values, as a reduction does."""
    k, n = np.unique(np.rint(values / step), return_counts=True)
    return Readings.of_steps(k, n, step)


def against_scipy() -> None:
    """Fit a million readings both ways."""
    values = np.round(walls(1_000_000), 2)
    readings = reduced(values, 0.01)
    print(f"1 000 000 readings, {len(readings.counts)} distinct values; seconds")
    print(f"{'family':<16}{'scipy, raw':>12}{'here':>10}{'times':>8}{'gain in log-likelihood':>24}")
    whole = [0.0, 0.0]
    for family, (peer, fixed) in PEERS.items():
        raw = -values if family == "gev-minima" else values
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            start = time.process_time()
            theirs = peer.fit(raw, **fixed)  # type: ignore[attr-defined]
            seconds = time.process_time() - start
            edges = peer(*theirs)  # type: ignore[operator]
        ours = timed(lambda family=family: fit_distribution(readings, family))  # type: ignore[misc]
        low, high = readings.low, readings.high
        if family == "gev-minima":
            low, high = -high, -low
        with np.errstate(divide="ignore"):
            mass = np.where(
                edges.cdf(high) < 0.5,
                edges.cdf(high) - edges.cdf(low),
                edges.sf(low) - edges.sf(high),
            )
            reached = float(readings.counts @ np.log(mass))
        gain = fit_distribution(readings, family).log_likelihood - reached
        whole[0] += seconds
        whole[1] += ours
        print(f"{family:<16}{seconds:>12.3f}{ours:>10.4f}{seconds / ours:>8.0f}{gain:>24.3f}")
    print(f"{'all':<16}{whole[0]:>12.3f}{whole[1]:>10.4f}{whole[0] / whole[1]:>8.0f}")


def large() -> None:
    """Fit every family to ten million readings, and test a fit."""
    values = walls(10_000_000)
    for step in (0.01, 0.001):
        readings = reduced(values, step)
        seconds = timed(lambda readings=readings: compare_families(readings))  # type: ignore[misc]
        print(
            f"all {len(FAMILIES)} families, 10 000 000 readings, {len(readings.counts)} distinct "
            f"values: {seconds:.2f} s"
        )
    readings = reduced(values, 0.01)
    for family in ("normal", "student-t", "skew-normal", "gamma", "weibull-3"):
        fit = fit_distribution(readings, family)
        seconds = timed(lambda fit=fit: goodness_of_fit(fit, seed=1), 1)  # type: ignore[misc]
        print(f"4 tests, 2 000 replicates, {family}, 10 000 000 readings: {seconds:.2f} s")


def in_blocks() -> None:
    """Test a family whose readings lie in blocks and bores, alone and as alike as they are."""
    rng = np.random.default_rng(1)
    bore = np.repeat(np.arange(4 * 48), 15)
    value = rng.normal(4.6, 0.2, 48)[bore // 4] + rng.normal(0, 0.15, bore.size)
    data = pd.DataFrame({"block": bore // 4, "bore": bore, "value": np.round(value, 2), "n": 1})
    for family in ("normal", "skew-normal"):
        seconds = timed(
            lambda family=family: grouped_goodness(data, family, step=0.01, seed=1),  # type: ignore[misc]
            1,
        )
        print(
            f"4 tests twice, 2 000 replicates, {family}, 48 blocks of 60 readings: {seconds:.2f} s"
        )


def predictions() -> None:
    """Draw a hundred thousand blocks, and a share-below curve with its band."""
    offsets = {f"place {i}": float(x) for i, x in enumerate(np.linspace(-0.15, 0.15, 12))}
    squares = NestedSquares(
        mean=4.6,
        block=MeanSquare(value=0.05, degrees_of_freedom=21),
        bore=MeanSquare(value=0.015, degrees_of_freedom=110),
        place=MeanSquare(value=0.01, degrees_of_freedom=1400),
        bore_in_block=1 / 6,
        place_in_block=1 / 72,
        place_in_bore=1 / 12,
        pattern=offsets,
        place_counts=dict.fromkeys(offsets, 132),
        mean_of=22,
    )
    seconds = timed(lambda: predicted_minimum(squares, bores=6, seed=1))
    print(f"100 000 blocks of 6 bores x 12 places, parameters left open: {seconds:.2f} s")
    limits = np.linspace(3.6, 4.6, 101)
    seconds = timed(lambda: share_below(squares, limits, bores=6, seed=1))
    print(f"share of blocks below 101 limits with its band (1 000 draws): {seconds:.2f} s")


if __name__ == "__main__":
    if "--no-peer" not in sys.argv[1:]:
        against_scipy()
    large()
    in_blocks()
    predictions()
