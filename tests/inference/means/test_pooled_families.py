"""Two families from printed sources: Welch with two summaries, swaps, coverage, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.means.pooled_families import pooled_difference
from workbench.inference.means.pooling import Source, pool
from workbench.inference.means.welch import Summary, welch

ONE, OTHER = Summary(n=6, mean=9.8, sd=0.4), Summary(n=11, mean=9.1, sd=0.7)


def family(prefix, means, sd=0.5, n=5):
    return pool(
        [
            Source.of_mean(f"{prefix}{place}", Summary(n=n, mean=float(mean), sd=sd))
            for place, mean in enumerate(means)
        ]
    )


def test_two_summaries_are_welch():
    assert pooled_difference(ONE, OTHER) == welch(ONE, OTHER)


def test_swap_and_unit():
    ours = family("a", [9.8, 10.4, 9.5])
    found, back = pooled_difference(ours, OTHER), pooled_difference(OTHER, ours)
    assert back.estimate == -found.estimate
    assert back.p_value() == found.p_value()
    inches = pooled_difference(
        family("a", np.array([9.8, 10.4, 9.5]) / 25.4, sd=0.5 / 25.4),
        Summary(n=11, mean=9.1 / 25.4, sd=0.7 / 25.4),
    )
    assert inches.estimate == pytest.approx(found.estimate / 25.4)
    assert inches.p_value() == pytest.approx(found.p_value())


def test_coverage_of_two_pooled_families():
    rng = np.random.default_rng(5)
    hits = 0
    for _ in range(600):
        ours = family("a", rng.normal(10, 0.4, 4) + rng.normal(0, 0.5 / 5**0.5, 4))
        others = family("b", rng.normal(9, 0.4, 4) + rng.normal(0, 0.5 / 5**0.5, 4))
        hits += pooled_difference(ours, others).interval().contains(1.0)
    assert hits / 600 == pytest.approx(0.955, abs=0.025)


def test_refusals():
    ours = family("a", [9.8, 10.4])
    with pytest.raises(Refusal, match="a0, a1 is a source of both families"):
        pooled_difference(ours, family("a", [9.0, 9.1]))
    with pytest.raises(Refusal, match="summary of 1 block shows no spread"):
        pooled_difference(ours, Summary(n=1, mean=9, sd=0))
    with pytest.raises(Refusal, match="Neither family shows any spread"):
        pooled_difference(Summary(n=3, mean=9, sd=0), Summary(n=3, mean=8, sd=0))
