"""Power of spread comparisons: drawn families, mirrors, the edge of enough, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.planning.spread_ratio import spread_blocks, spread_power


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


@pytest.mark.parametrize(
    ("ratio", "kind", "margin"),
    [(0.5, "different", 1.0), (2.0, "greater", 1.2), (0.4, "less", 1.0), (1.05, "same", 2.0)],
)
def test_the_answer_is_the_first_that_is_enough(ratio, kind, margin):
    found = spread_blocks(ratio, kind=kind, margin=margin)
    assert spread_power(ratio, found, found, kind=kind, margin=margin) >= 0.8
    assert spread_power(ratio, found - 1, found - 1, kind=kind, margin=margin) < 0.8


def test_at_the_margin_power_is_the_level():
    assert spread_power(1.3, 9, 12, kind="greater", margin=1.3) == pytest.approx(0.025)
    assert spread_power(1.0, 9, 12) == pytest.approx(0.05)
    assert spread_blocks(1.0) is None
    assert spread_blocks(1.1, kind="less") is None
    assert spread_blocks(0.9, most=10) is None


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
