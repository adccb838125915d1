"""Bootstrap of 500 blocks, 10 000 draws, BCa, against scipy.stats.bootstrap on the same figures.

Run ``python tests/benchmarks/bench_resampling.py``. scipy is shown twice: with a figure that takes
whole arrays of draws, and with a plain function of one draw, as it is most often called. Mean and
median are shown drawn and in closed form. The intervals are compared before anything is timed.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from scipy import stats

from workbench.inference.resampling.blocks import bootstrap_blocks
from workbench.inference.resampling.means import bootstrap_mean
from workbench.inference.resampling.quantiles import bootstrap_quantile

BLOCKS, DRAWS, ROUNDS = 500, 10_000, 5


def seconds(call: Callable[[], object]) -> float:
    call()
    took = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        call()
        took.append(time.perf_counter() - start)
    return min(took)


def spread_ratio(own, other, axis=-1):
    return own.std(axis=axis, ddof=1) / other.std(axis=axis, ddof=1)


def by_scipy(families, figure, vectorized: bool):
    return stats.bootstrap(
        families, figure, n_resamples=DRAWS, vectorized=vectorized, method="BCa", rng=1
    ).confidence_interval


def in_closed_form(made, own, figure) -> None:
    """Compare one figure that needs no draws, and print its time."""
    closed, theirs = made(own).interval(), by_scipy((own,), figure, True)
    np.testing.assert_allclose((closed.low, closed.high), (theirs.low, theirs.high), rtol=0.005)
    took = seconds(lambda: made(own).interval())
    whole = seconds(lambda: by_scipy((own,), figure, True))
    plain = seconds(lambda: by_scipy((own,), figure, False))
    print(
        f"{figure.__name__}, closed form {1e3 * took:6.2f} ms; scipy {1e3 * whole:6.1f} ms "
        f"({whole / took:.0f} x), plain function {1e3 * plain:6.1f} ms ({plain / took:.0f} x)"
    )


def main() -> None:
    """Compare the intervals, then print the times and their ratios."""
    generator = np.random.default_rng(20261125)
    own, other = generator.gamma(8, 0.5, (2, BLOCKS))
    figures = {
        "mean": ((own,), np.mean),
        "median": ((own,), np.median),
        "ratio of spreads": ((own, other), spread_ratio),
    }
    print(f"{BLOCKS} blocks, {DRAWS} draws, BCa, best of {ROUNDS}")
    for name, (families, figure) in figures.items():
        ours = bootstrap_blocks(families, figure, seed=1).interval()
        theirs = by_scipy(families, figure, True)
        np.testing.assert_allclose((ours.low, ours.high), (theirs.low, theirs.high), rtol=0.02)
        drawn = seconds(lambda f=families, g=figure: bootstrap_blocks(f, g, seed=1).interval())
        whole = seconds(lambda f=families, g=figure: by_scipy(f, g, True))
        plain = seconds(lambda f=families, g=figure: by_scipy(f, g, False))
        print(
            f"{name:17s} drawn {1e3 * drawn:6.1f} ms; scipy {1e3 * whole:6.1f} ms "
            f"({whole / drawn:.1f} x), plain function {1e3 * plain:6.1f} ms ({plain / drawn:.1f} x)"
        )
    for made, figure in ((bootstrap_mean, np.mean), (bootstrap_quantile, np.median)):
        in_closed_form(made, own, figure)


if __name__ == "__main__":
    main()
