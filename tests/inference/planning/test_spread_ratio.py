"""Power of spread comparisons: drawn families, mirrors, the edge of enough, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.planning.spread_ratio import (
    spread_assurance,
    spread_power,
    spread_powers,
)


@pytest.mark.parametrize(
    ("kind", "margin"),
    [("greater", 1.0), ("greater", 1.2), ("less", 1.0), ("same", 3.0), ("different", 1.1)],
)
@pytest.mark.parametrize("ratio", [0.6, 1.0, 1.8])
def test_against_drawn_families(kind, margin, ratio):
    rng = np.random.default_rng(1)
    f = ratio**2 * (rng.chisquare(11, 100_000) / 11) / (rng.chisquare(7, 100_000) / 7)
    tail = 0.05 if kind == "same" else 0.025
    low = np.sqrt(f / stats.f.ppf(1 - tail, 11, 7))
    high = np.sqrt(f / stats.f.ppf(tail, 11, 7))
    shown = {
        "greater": low > margin,
        "less": high < 1 / margin,
        "same": (low > 1 / margin) & (high < margin),
        "different": (low > margin) | (high < 1 / margin),
    }[kind]
    found = spread_power(ratio, 12, 8, kind=kind, margin=margin)
    assert found == pytest.approx(shown.mean(), abs=0.006)


def test_mirrors():
    for ratio in (0.5, 2.5):
        one = spread_power(ratio, 9, 14, kind="greater", margin=1.1)
        assert spread_power(1 / ratio, 14, 9, kind="less", margin=1.1) == pytest.approx(one)
        both = spread_power(ratio, 9, 14)
        assert spread_power(1 / ratio, 14, 9) == pytest.approx(both)


def test_many_at_once_as_one_by_one():
    ours, others = np.array([4, 9, 30]), np.array([20, 9, 6])
    for kind, margin in (("greater", 1.2), ("less", 1.0), ("same", 2.0), ("different", 1.0)):
        together = spread_powers(0.6, ours - 1.0, others - 1.0, kind=kind, margin=margin)
        singly = [
            spread_power(0.6, int(n), int(m), kind=kind, margin=margin)
            for n, m in zip(ours, others, strict=True)
        ]
        assert together == pytest.approx(singly)
    assert spread_powers(0.6, np.array([0.0]), np.array([9.0]))[0] == 0.0


def test_assurance_of_more_blocks_against_drawn_blocks():
    """8 and 10 blocks seen at a ratio of 1.9; 12 and 20 more drawn one by one, then the F test."""
    rng, size = np.random.default_rng(3), 20_000
    squares = []
    for seen, n, more in ((1.9**2, 8, 12), (1.0, 10, 20)):
        true = np.sqrt(seen * (n - 1) / rng.chisquare(n - 1, size))
        mean = true / np.sqrt(n) * rng.normal(size=size)  # of the blocks seen, about the true one
        new = true[:, None] * rng.normal(size=(size, more))
        between = n * more / (n + more) * (new.mean(axis=1) - mean) ** 2
        inside = ((new - new.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
        squares.append((seen * (n - 1) + inside + between) / (n + more - 1))
    f = squares[0] / squares[1]
    decided = (f > stats.f.ppf(0.975, 19, 29)) | (f < stats.f.ppf(0.025, 19, 29))
    found = spread_assurance(1.9, (7, 9), (19, 29))
    assert found == pytest.approx(decided.mean(), abs=0.015)
    assert spread_assurance(1 / 1.9, (9, 7), (29, 19)) == pytest.approx(found, abs=0.015)


def test_at_the_margin_power_is_the_level():
    assert spread_power(1.3, 9, 12, kind="greater", margin=1.3) == pytest.approx(0.025)
    assert spread_power(1.0, 9, 12) == pytest.approx(0.05)


def test_refusals():
    with pytest.raises(Refusal, match="ratio of spreads is above 0 and finite, not 0"):
        spread_power(0, 9, 9)
    with pytest.raises(Refusal, match="A spread needs 2 blocks or more, not 1 and 9"):
        spread_power(2, 1, 9)
    with pytest.raises(Refusal, match=r"margin of a ratio is above 1 for 'same', not 1\.0"):
        spread_power(2, 9, 9, kind="same")
    with pytest.raises(Refusal, match="1 or above for 'greater'"):
        spread_power(2, 9, 9, kind="greater", margin=0.5)
    with pytest.raises(Refusal, match="kind is one of"):
        spread_power(2, 9, 9, kind="wider")
