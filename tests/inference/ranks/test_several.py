"""Kruskal-Wallis and Dunn: identities, order, unit, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.adjustment import benjamini_hochberg
from workbench.inference.ranks.several import dunn, kruskal_wallis

DECKS = {"works": (9.1, 9.4, 8.8, 9.0, 9.3), "deep": (9.9, 10.4, 9.4), "rare": (11.0, 9.6, 9.4)}


def test_scipy_agrees_with_ties() -> None:
    theirs = stats.kruskal(*DECKS.values())
    found = kruskal_wallis(DECKS)
    assert (found.statistic, found.p_value) == pytest.approx((theirs.statistic, theirs.pvalue))


def test_two_families_dunn_is_kruskal_wallis() -> None:
    """z squared is H, so the two p are one."""
    two = {name: DECKS[name] for name in ("works", "deep")}
    (pair,) = dunn(two)
    assert pair.statistic**2 == pytest.approx(kruskal_wallis(two).statistic)
    assert pair.p_value == pytest.approx(kruskal_wallis(two).p_value)
    assert pair.adjusted == pair.p_value


def test_reversed_families_change_the_sign() -> None:
    forward = {(p.candidate, p.reference): p for p in dunn(DECKS)}
    for back in dunn(dict(reversed(DECKS.items()))):
        pair = forward[back.reference, back.candidate]
        assert back.mean_rank_difference == pytest.approx(-pair.mean_rank_difference)
        assert back.adjusted == pytest.approx(pair.adjusted)


def test_any_rising_scale_gives_the_same() -> None:
    bent = {name: np.exp(row) for name, row in DECKS.items()}
    assert kruskal_wallis(bent) == kruskal_wallis(DECKS)
    assert dunn(bent) == dunn(DECKS)


def test_the_adjustment_is_the_one_asked_for() -> None:
    pairs = dunn(DECKS, benjamini_hochberg)
    expected = stats.false_discovery_control([pair.p_value for pair in pairs])
    assert [pair.adjusted for pair in pairs] == pytest.approx(list(expected))


@pytest.mark.parametrize("analysis", [kruskal_wallis, dunn])
def test_refusals(analysis) -> None:
    with pytest.raises(Refusal, match="1 families are given"):
        analysis({"works": (1, 2)})
    with pytest.raises(Refusal, match="All 4 numbers of all families together are equal"):
        analysis({"works": (1, 1), "deep": (1, 1)})
    with pytest.raises(Refusal, match="family 'deep' holds 0 numbers"):
        analysis({"works": (1, 2), "deep": ()})
    with pytest.raises(Refusal, match="family 'deep' holds nan"):
        analysis({"works": (1, 2), "deep": (math.nan,)})
