"""The shift that would make neither family larger: scipy at each shift, p with interval, unit."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.ranks.relative_effect import shift_by_effect


def draws(seed: int, decimals: int | None = None) -> tuple[np.ndarray, np.ndarray]:
    generator = np.random.default_rng(seed)
    m, n = generator.integers(10, 18, 2)
    own, other = generator.normal(0.6, 1, m), generator.normal(0, 2, n)
    return (own, other) if decimals is None else (own.round(decimals), other.round(decimals))


def test_pain_scores_of_brunner_and_munzel() -> None:
    """The scores of their paper's example, p = 0.0058 (from memory); scipy prints 0.005786."""
    usual = [1, 2, 1, 1, 1, 1, 1, 1, 1, 1, 2, 4, 1, 1]
    newer = [3, 3, 4, 3, 1, 2, 3, 1, 1, 5, 4]
    found = shift_by_effect(newer, usual)
    assert found.p_value(0) == pytest.approx(0.005786, abs=5e-7)
    assert found.interval().low > 0
    assert found.estimate == 2


def scipys(own: np.ndarray, other: np.ndarray, shift: float) -> tuple[float, float]:
    """Give scipy's one-sided p above and below at a shift; rounded, so that ties are ties."""
    placed = other.round(9), (own - shift).round(9)
    above, below = (
        float(stats.brunnermunzel(*placed, alternative=side).pvalue) for side in ("less", "greater")
    )
    return above, below


def test_at_every_shift_it_is_scipys_test_of_the_shifted_values() -> None:
    """Scipy's p is not monotone in the shift; ours is the largest on the way to it, so p agrees."""
    lifted = 0
    for seed in range(6):
        own, other = draws(seed)
        found = shift_by_effect(own, other)
        steps = np.unique(np.subtract.outer(own, other))
        at = np.sort(np.concatenate([steps, (steps[1:] + steps[:-1]) / 2]))
        # the outermost are fully apart, where scipy has no p
        known = at[(at > at[0]) & (at < at[-1])]
        above, below = np.array([scipys(own, other, shift) for shift in known]).T
        above = np.maximum.accumulate(above)
        below = np.maximum.accumulate(below[::-1])[::-1]
        for shift in np.linspace(-0.5, 1.7, 9):
            alone = scipys(own, other, shift)
            up_to = above[max(0, np.searchsorted(known, shift) - 1)]
            from_on = below[min(np.searchsorted(known, shift), known.size - 1)]
            expected = max(alone[0], up_to), max(alone[1], from_on)
            assert found.p_above(shift) == pytest.approx(expected[0], rel=1e-6)
            assert found.p_below(shift) == pytest.approx(expected[1], rel=1e-6)
            lifted += expected != alone
    assert 0 < lifted < 20


@pytest.mark.parametrize("decimals", [None, 0, 1])
def test_the_interval_leaves_out_a_margin_exactly_when_p_says_so(decimals: int | None) -> None:
    for seed in range(40):
        found = shift_by_effect(*draws(seed, decimals))
        ends = found.interval(0.95)
        for margin in (-0.1, 0.0, 0.37, 0.5, 1.0):
            assert (ends.low <= margin <= ends.high) == (found.p_value(margin) >= 0.05)


def test_swap_unit_and_shift() -> None:
    own, other = draws(50)
    found, back = shift_by_effect(own, other), shift_by_effect(other, own)
    assert back.estimate == pytest.approx(-found.estimate)
    assert back.interval().low == pytest.approx(-found.interval().high)
    inches = shift_by_effect(own / 25.4 + 3, other / 25.4 + 3)
    assert inches.interval().low * 25.4 == pytest.approx(found.interval().low)
    assert inches.p_above(0.3 / 25.4) == pytest.approx(found.p_above(0.3))


def test_refusals() -> None:
    row = list(range(12))
    with pytest.raises(Refusal, match="at least 10"):
        shift_by_effect(row[:9], row)
    with pytest.raises(Refusal, match="more than 10000 pairs"):
        shift_by_effect(np.arange(101.0), np.arange(100.0))
