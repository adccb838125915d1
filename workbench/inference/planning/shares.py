"""Power of a comparison of two shares by the score test, every outcome counted.

References
----------
Farrington, C. P., Manning, G. (1990). Statistics in Medicine 9, 1447-1454; Fleiss, J. L. (1981).
Statistical Methods for Rates and Proportions, chapter 3 (the normal approximation; both from
memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from workbench.errors import Refusal
from workbench.inference.planning.aims import Aim, Kind, check_power
from workbench.inference.shares.count import binomial_probabilities
from workbench.inference.shares.difference import score_statistic

Values = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

MOST_COUNTED = 150  # blocks a family up to which the fewest are sought by counting outcomes
MOST = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareBlocks:
    """Blocks of each family that reach a power, and the power itself.

    `counted` tells that every outcome was counted; else both are the normal approximation.
    """

    blocks: int
    power: float
    counted: bool


def share_power(
    candidate_share: float,
    reference_share: float,
    candidate: int,
    reference: int,
    *,
    kind: Kind = "different",
    margin: float = 0.0,
    confidence: float = 0.95,
) -> float:
    """Answer how likely so many blocks show what is claimed of two shares.

    The sum of the chances of all outcomes on which the score test (Farrington and Manning) decides
    for the claim. The test's own level wavers about its name with few blocks, and the power rises
    and falls by a little as blocks are added.

    Parameters
    ----------
    candidate_share, reference_share : float
        The shares supposed, from 0 to 1.
    candidate, reference : int
        Blocks of each family.
    kind, margin, confidence
        As for `Aim`, of the candidate's share minus the reference's.

    Raises
    ------
    Refusal
        `bad_share`, `bad_layout`; `bad_margin`, `bad_choice`, `bad_confidence`.
    """
    aim = _aim(candidate_share, reference_share, kind, margin, confidence)
    if min(candidate, reference) < 1:
        raise Refusal("bad_layout", f"Plan 1 block or more, not {candidate} and {reference}.")
    ours = binomial_probabilities(candidate, np.array([candidate_share]))
    others = binomial_probabilities(reference, np.array([reference_share]))
    counts = np.arange(candidate + 1)[:, None], np.arange(reference + 1)[None, :]

    def score(boundary: float) -> Values:
        return score_statistic(*counts, candidate, reference, boundary)

    shown = _shown(aim, score)
    return float(ours.ravel() @ shown @ others.ravel())


def approximate_share_power(
    candidate_share: float,
    reference_share: float,
    candidate: int,
    reference: int,
    *,
    kind: Kind = "different",
    margin: float = 0.0,
    confidence: float = 0.95,
) -> float:
    """Give the normal approximation of `share_power`, good with many blocks.

    Examples
    --------
    Fifty blocks a family, 50 against 75 % (R, help of power.prop.test):

    >>> round(approximate_share_power(0.75, 0.50, 50, 50), 3)
    0.74
    """
    aim = _aim(candidate_share, reference_share, kind, margin, confidence)
    error = math.sqrt(
        candidate_share * (1 - candidate_share) / candidate
        + reference_share * (1 - reference_share) / reference
    )
    if error == 0:
        error = math.ulp(1.0)

    def beyond(boundary: float, tail: float, upwards: bool) -> float:
        """Give the chance that the score passes its bound at the boundary."""
        z = float(
            score_statistic(
                candidate_share * candidate, reference_share * reference, candidate, reference,
                boundary,
            )
        )  # fmt: skip
        apart = aim.difference - boundary
        null = abs(apart / z) if z and math.isfinite(z) else error
        bound = -float(ndtri(tail)) * null
        return float(ndtr(((apart if upwards else -apart) - bound) / error))

    tail = (1 - confidence) / 2
    if kind == "same":
        sides = beyond(-margin, 2 * tail, True) + beyond(margin, 2 * tail, False) - 1
        return max(0.0, sides)
    if kind == "greater":
        return beyond(margin, tail, True)
    if kind == "less":
        return beyond(-margin, tail, False)
    larger = aim.difference >= 0  # the far side is left out, as usual
    return beyond(margin if larger else -margin, tail, larger)


def share_blocks(
    candidate_share: float,
    reference_share: float,
    *,
    kind: Kind = "different",
    margin: float = 0.0,
    confidence: float = 0.95,
    power: float = 0.8,
) -> ShareBlocks | None:
    """Answer how many blocks of each family show what is claimed of two shares.

    Parameters
    ----------
    candidate_share, reference_share, kind, margin, confidence
        As for `share_power`.
    power : float
        The chance wanted.

    Returns
    -------
    ShareBlocks or None
        The fewest from which on the power stays (within half as many again); None where the truth
        does not lie beyond the margin.

    Raises
    ------
    Refusal
        As `share_power`; `bad_power`.
    """
    check_power(power)
    aim = _aim(candidate_share, reference_share, kind, margin, confidence)
    if not aim.reachable:
        return None

    def roughly(n: int) -> float:
        return approximate_share_power(
            candidate_share, reference_share, n, n, kind=kind, margin=margin, confidence=confidence
        )

    about = _first(lambda n: roughly(n) >= power)
    if about > MOST_COUNTED:
        return ShareBlocks(blocks=about, power=roughly(about), counted=False)

    def exactly(n: int) -> float:
        return share_power(
            candidate_share, reference_share, n, n, kind=kind, margin=margin, confidence=confidence
        )

    last = math.ceil(1.5 * about) + 5
    while exactly(last) < power:
        last = math.ceil(1.2 * last) + 1
    while last > 1 and exactly(last - 1) >= power:
        last -= 1
    return ShareBlocks(blocks=last, power=exactly(last), counted=True)


def _shown(aim: Aim, score: Callable[[float], Values]) -> Flags:
    tail = (1 - aim.confidence) / 2
    bound = -float(ndtri(tail))
    if aim.kind == "same":
        inner = -float(ndtri(2 * tail))
        both: Flags = (score(-aim.margin) > inner) & (score(aim.margin) < -inner)
        return both
    above: Flags = score(aim.margin) > bound
    below: Flags = score(-aim.margin) < -bound
    if aim.kind == "different":
        either: Flags = above | below
        return either
    return above if aim.kind == "greater" else below


def _aim(ours: float, others: float, kind: Kind, margin: float, confidence: float) -> Aim:
    for share in (ours, others):
        if not 0 <= share <= 1:
            raise Refusal("bad_share", f"A share lies from 0 to 1, not at {share}.")
    if not -1 < margin < 1:
        raise Refusal("bad_margin", f"Shares differ by less than 1; the margin is {margin}.")
    return Aim(kind=kind, difference=ours - others, margin=margin, confidence=confidence)


def _first(enough: Callable[[int], bool]) -> int:
    low, high = 0, 1
    while not enough(high) and high < MOST:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
