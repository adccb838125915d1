"""Dealings counted in full, against published randomisation and exact tests.

The exact conditional tests of a two-by-two table and of ranks are dealings of 0s and 1s, and of
ranks; a paired test is a dealing within strata of two.
"""

import pytest
from scipy.stats import rankdata

from workbench.inference.resampling.permutation import permute_blocks


def test_tomato_plants():
    """Box, Hunter and Hunter (1978), 94-97: 462 arrangements; counts by full enumeration.

    The book's 33 per cent lies between 151 strictly greater and 154 greater or equal.
    """
    fertiliser_a = [29.9, 11.4, 25.3, 16.5, 21.1]
    fertiliser_b = [26.6, 23.7, 28.5, 14.2, 17.9, 24.3]
    dealt = permute_blocks(fertiliser_b, fertiliser_a, seed=1)
    assert dealt.estimate == pytest.approx(1.69, abs=5e-3)
    assert dealt.resamples == 462
    assert dealt.p_above(0) * 462 == pytest.approx(154)
    assert (1 - dealt.p_below(0)) * 462 == pytest.approx(151)


def test_darwins_maize_in_pairs():
    """Fisher (1935), The Design of Experiments, sections 17 and 21 (from memory): 863 of 32 768."""
    eighths = [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48]
    pairs = [str(number) for number in range(15)]
    dealt = permute_blocks(eighths, [0] * 15, strata=(pairs, pairs), seed=1)
    assert dealt.resamples == 32_768
    assert dealt.estimate == pytest.approx(20.93, abs=5e-3)
    assert dealt.p_above(0) * 32_768 == pytest.approx(863)
    assert dealt.p_value() == pytest.approx(0.05267, abs=5e-6)


def test_tea_tasting():
    """Fisher (1935), chapter 2; R's help page of `fisher.test`: p 0.4857, one-sided 0.2429."""
    dealt = permute_blocks([1, 1, 1, 0], [1, 0, 0, 0], seed=1)
    assert dealt.p_value() == pytest.approx(0.4857, abs=5e-5)
    assert dealt.p_above(0) == pytest.approx(0.2429, abs=5e-5)


def test_permeability_by_ranks():
    """Hollander and Wolfe (1973), 69f; R's help page of `wilcox.test`: one-sided p 0.1272."""
    term = [0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46]
    early = [1.15, 0.88, 0.90, 0.74, 1.21]
    ranks = rankdata(term + early)
    dealt = permute_blocks(ranks[:10], ranks[10:], seed=1)
    assert dealt.resamples == 3_003
    assert dealt.p_above(0) == pytest.approx(0.1272, abs=5e-5)


def test_rotarod_times_by_ranks_drawn_at_random():
    """Bergmann, Ludbrook and Spooren (2000), American Statistician 54, 72-77: exact p 0.0373.

    With 2 704 156 arrangements this one is drawn; three standard errors of 9 999 draws are 0.0057.
    """
    treated = [22, 300, 75, 271, 300, 18, 300, 300, 163, 300, 300, 300]
    ranks = rankdata([300] * 12 + treated)
    dealt = permute_blocks(ranks[:12], ranks[12:], seed=1)
    assert not dealt.exact
    assert dealt.p_value() == pytest.approx(0.0373, abs=0.0057)
