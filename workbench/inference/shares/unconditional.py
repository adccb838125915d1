"""Exact tests of two shares that do not fix the total: Barnard's and Boschloo's, at any margin.

The chance of a table as extreme as the one seen depends on a share nobody knows. Its largest value
over all shares is taken, on a grid fine enough for the blocks at hand and refined around the peaks;
there is nothing random in it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

from workbench.errors import Refusal
from workbench.inference.results import Interval, check_confidence
from workbench.inference.roots import root_between
from workbench.inference.shares.count import Count, binomial_probabilities
from workbench.inference.shares.difference import score_statistic

Values = NDArray[np.float64]
Region = NDArray[np.bool_]

GRID = 400
GRID_EACH_BLOCK = 6
PEAKS = 4
ZOOMS = 4
ZOOM_GRID = 41
TIE = 1e-9
MARGIN_STEP = 0.02
LARGEST = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class ExactShareTest:
    """Two counts judged exactly at a `margin`, without fixing their total.

    `p_above` is against 'the difference is the margin or less', `p_below` against 'the margin or
    more'; `statistic` orders the tables. The estimate is the candidate's share less the
    reference's.
    """

    candidate: Count
    reference: Count
    margin: float
    statistic: float
    p_value: float
    p_above: float
    p_below: float
    method: str

    @property
    def estimate(self) -> float:
        """The observed difference, from -1 to 1."""
        return self.candidate.share - self.reference.share


def barnard(candidate: Count, reference: Count, margin: float = 0.0) -> ExactShareTest:
    """Answer whether two shares differ by more than a margin, however few the blocks.

    Tables are ordered by the score statistic, which at margin 0 is the pooled z of Barnard's test;
    with a margin this is Chan's exact test of non-inferiority. The two-sided p counts the tables
    as far out on either side.

    Parameters
    ----------
    candidate, reference : Count
        Independent blocks with the feature, and blocks looked at; up to 500 each.
    margin : float
        A difference of shares between -1 and 1.

    Raises
    ------
    Refusal
        `bad_margin`; `too_many` beyond 500 blocks (the score test is as good there).

    References
    ----------
    Barnard, G. A. (1947). Significance tests for 2x2 tables. Biometrika 34, 123-138. Chan, I. S. F.
    (1998). Exact tests of equivalence and efficacy with a non-zero lower bound for comparative
    studies. Statistics in Medicine 17, 1403-1413. Both from memory.

    Examples
    --------
    >>> vaccine = barnard(Count(yes=7, of=15), Count(yes=12, of=15))
    >>> f"z = {vaccine.statistic:.3f}, p = {vaccine.p_below:.4f}"
    'z = -1.894, p = 0.0341'
    """
    _check(candidate, reference, margin)
    z = _scores(candidate.of, reference.of, margin)
    seen = float(z[candidate.yes, reference.yes])

    def tail(region: Region) -> float:
        return _largest(region, candidate.of, reference.of, margin)

    return ExactShareTest(
        candidate=candidate,
        reference=reference,
        margin=margin,
        statistic=seen,
        p_value=tail(np.abs(z) >= abs(seen) - TIE),
        p_above=tail(z >= seen - TIE),
        p_below=tail(z <= seen + TIE),
        method="Barnard" if margin == 0 else "exact score",
    )


def boschloo(candidate: Count, reference: Count) -> ExactShareTest:
    """Answer whether two shares differ, by Boschloo's test: never weaker than Fisher's.

    Tables are ordered by Fisher's one-sided p (`statistic` is the smaller of the two); the
    two-sided p is twice the smaller one-sided p.

    References
    ----------
    Boschloo, R. D. (1970). Raised conditional level of significance for the 2x2 table when testing
    the equality of two probabilities. Statistica Neerlandica 24, 1-35 (from memory).

    Examples
    --------
    >>> pleased = boschloo(Count(yes=74, of=117), Count(yes=31, of=63))
    >>> f"Fisher {pleased.statistic:.4f}, Boschloo {pleased.p_above:.4f}"
    'Fisher 0.0483, Boschloo 0.0356'
    """
    _check(candidate, reference, 0.0)
    above, below = _fisher_tails(candidate.of, reference.of)

    def tail(p: Values) -> float:
        seen = p[candidate.yes, reference.yes] * (1 + TIE)
        return _largest(p <= seen, candidate.of, reference.of, 0.0)

    p_above, p_below = tail(above), tail(below)
    place = candidate.yes, reference.yes
    return ExactShareTest(
        candidate=candidate,
        reference=reference,
        margin=0.0,
        statistic=min(float(above[place]), float(below[place])),
        p_value=min(1.0, 2 * min(p_above, p_below)),
        p_above=p_above,
        p_below=p_below,
        method="Boschloo",
    )


def exact_share_interval(candidate: Count, reference: Count, confidence: float = 0.95) -> Interval:
    """Answer how far two shares lie apart: the margins `barnard` does not reject, tail by tail.

    Parameters
    ----------
    candidate, reference : Count
        Independent blocks with the feature, and blocks looked at.
    confidence : float
        Kept whatever the shares; half of the rest on each side.

    References
    ----------
    Chan, I. S. F., Zhang, Z. (1999). Test-based exact confidence intervals for the difference of
    two binomial proportions. Biometrics 55, 1202-1209 (from memory).
    """
    check_confidence(confidence)
    _check(candidate, reference, 0.0)
    tail = (1 - confidence) / 2
    return Interval(
        low=_outermost(candidate, reference, tail),
        high=-_outermost(reference, candidate, tail),
        confidence=confidence,
    )


def _outermost(candidate: Count, reference: Count, tail: float) -> float:
    """Find the least margin that 'the difference is it or less' does not reject."""

    def excess(margin: float) -> float:
        z = _scores(candidate.of, reference.of, margin)
        region = z >= z[candidate.yes, reference.yes] - TIE
        return _largest(region, candidate.of, reference.of, margin) - tail

    estimate = candidate.share - reference.share
    if estimate <= -1 + MARGIN_STEP:
        return -1.0
    below = -1.0
    for margin in np.arange(-1 + MARGIN_STEP, 1, MARGIN_STEP):
        if excess(float(margin)) > 0:
            if below == -1.0:
                return -1.0
            return root_between(excess, below, float(margin), absolute=1e-7)
        below = float(margin)
    return below


def _scores(own_of: int, other_of: int, margin: float) -> Values:
    own, other = np.arange(own_of + 1)[:, None], np.arange(other_of + 1)
    return score_statistic(own, other, own_of, other_of, margin)


def _largest(region: Region, own_of: int, other_of: int, margin: float) -> float:
    """Give the largest probability of `region` over the reference's share."""
    inside = region.astype(float)

    def chance(shares: Values) -> Values:
        own = binomial_probabilities(own_of, np.clip(shares + margin, 0.0, 1.0))
        total: Values = (own * (inside @ binomial_probabilities(other_of, shares))).sum(axis=0)
        return total

    count = max(GRID, GRID_EACH_BLOCK * (own_of + other_of)) + 1
    grid = np.linspace(max(0.0, -margin), min(1.0, 1.0 - margin), count)
    found = chance(grid)
    best, step = float(found.max()), grid[1] - grid[0]
    middles, reach = grid[np.argsort(found)[-PEAKS:]], float(step)
    for _ in range(ZOOMS):
        near = np.clip(
            np.linspace(middles - reach, middles + reach, ZOOM_GRID, axis=1), grid[0], grid[-1]
        )
        values = chance(near.ravel()).reshape(near.shape)
        middles = near[np.arange(len(near)), values.argmax(axis=1)]
        best, reach = max(best, float(values.max())), reach * 4 / ZOOM_GRID
    return min(1.0, best)


def _fisher_tails(own_of: int, other_of: int) -> tuple[Values, Values]:
    """Give Fisher's one-sided p, above and below, of every table."""
    above, below = np.ones((2, own_of + 1, other_of + 1))
    for total in range(own_of + other_of + 1):
        own = np.arange(max(0, total - other_of), min(own_of, total) + 1)
        other = total - own
        logs = -(
            gammaln(own + 1)
            + gammaln(own_of - own + 1)
            + gammaln(other + 1)
            + gammaln(other_of - other + 1)
        )
        likely = np.exp(logs - logs.max())
        likely /= likely.sum()
        above[own, other] = likely[::-1].cumsum()[::-1]
        below[own, other] = likely.cumsum()
    return above, below


def _check(candidate: Count, reference: Count, margin: float) -> None:
    if not -1 < margin < 1:
        raise Refusal("bad_margin", f"Shares differ by less than 1; the margin is {margin}.")
    if max(candidate.of, reference.of) > LARGEST:
        raise Refusal(
            "too_many",
            f"The exact tests go up to {LARGEST} blocks a family; with {candidate.of} and "
            f"{reference.of} the score test of `share_difference` is as good.",
        )
