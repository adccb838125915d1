"""Power of a comparison of two spreads by the F ratio, for normal families.

References
----------
Davies, O. L. (1954). The Design and Analysis of Industrial Experiments, section 2.5 and table H
(from memory).
"""

from __future__ import annotations

import math

import numpy as np
from scipy.special import fdtr, fdtrc, fdtri

from workbench.errors import Refusal
from workbench.inference.planning.aims import KINDS, Kind
from workbench.inference.results import check_confidence
from workbench.inference.samples import Values

DRAWS, SEED = 20_000, 1


def spread_power(
    ratio: float,
    candidate: int,
    reference: int,
    *,
    kind: Kind = "different",
    margin: float = 1.0,
    confidence: float = 0.95,
) -> float:
    """Answer how likely so many blocks show what is claimed of two standard deviations.

    Parameters
    ----------
    ratio : float
        The candidate's standard deviation over the reference's, as supposed.
    candidate, reference : int
        Blocks of each family, one number a block.
    kind : {"greater", "less", "same", "different"}
        "greater": more than `margin` times the reference's; "less" ("more consistent"): less than
        1 / `margin` times; "same": between both; "different": outside both.
    margin : float
        1 or above; above 1 for "same".
    confidence : float
        As for `Aim`.

    Raises
    ------
    Refusal
        `bad_ratio`, `bad_margin`, `bad_choice`, `too_few_blocks` below 2, `bad_confidence`.

    Examples
    --------
    Eleven blocks each (10 degrees of freedom), one-sided 5 %: a ratio of variances of 8.870 is
    found with 95 % (Davies, table H):

    >>> round(spread_power(8.870 ** 0.5, 11, 11, kind="greater", confidence=0.9), 4)
    0.95
    """
    _check(ratio, kind, margin, confidence)
    if min(candidate, reference) < 2:
        raise Refusal(
            "too_few_blocks", f"A spread needs 2 blocks or more, not {candidate} and {reference}."
        )
    degrees = np.array([candidate - 1.0]), np.array([reference - 1.0])
    return float(_powers(ratio, *degrees, kind, margin, confidence)[0])


def spread_powers(
    ratio: float,
    candidate: Values,
    reference: Values,
    *,
    kind: Kind = "different",
    margin: float = 1.0,
    confidence: float = 0.95,
) -> Values:
    """Give the same for many plans at once, by the degrees of freedom each family's spread has.

    Blocks less one where blocks are normal, fewer where tails are heavy; none gives no power.
    """
    _check(ratio, kind, margin, confidence)
    known = np.minimum(candidate, reference) > 0
    ours, others = (np.where(known, degrees, 1.0) for degrees in (candidate, reference))
    return np.where(known, _powers(ratio, ours, others, kind, margin, confidence), 0.0)


def spread_assurance(
    ratio: float,
    now: tuple[float, float],
    then: tuple[float, float],
    *,
    confidence: float = 0.95,
) -> float:
    """Answer how likely the F ratio tells two spreads apart once more is measured, either way.

    What is measured stays; the true spreads are drawn as the degrees of freedom `now` leave them
    open (no prior knowledge), the further squares for the degrees of freedom `then`.

    Parameters
    ----------
    ratio : float
        The candidate's standard deviation over the reference's, as found.
    now, then : tuple of float
        Degrees of freedom of candidate and reference; `then` includes those of `now`.
    confidence : float
        Of the two-sided interval of the ratio.

    Returns
    -------
    float
        From 20 000 seeded draws: good to 0.004.

    Examples
    --------
    With as good as endless blocks it is the chance that the truth is not a ratio of 1:

    >>> spread_assurance(2.0, (9, 9), (1e7, 1e7)) > 0.99
    True
    """
    _check(ratio, "different", 1.0, confidence)
    generator = np.random.default_rng(SEED)
    squares = []
    for found, few, many in zip((ratio**2, 1.0), now, then, strict=True):
        true = found * few / generator.chisquare(few, DRAWS)
        more = many - few
        new = true * generator.chisquare(more, DRAWS) if more > 0 else 0.0
        squares.append((found * few + new) / many)
    tail = (1 - confidence) / 2
    ours, others = then
    low, high = float(fdtri(ours, others, tail)), float(fdtri(ours, others, 1 - tail))
    seen = squares[0] / squares[1]
    return float(np.mean((seen > high) | (seen < low)))


def _powers(
    ratio: float, ours: Values, others: Values, kind: Kind, margin: float, confidence: float
) -> Values:
    tail = (1 - confidence) / 2
    inner = 2 * tail if kind == "same" else tail
    high, low = fdtri(ours, others, 1 - inner), fdtri(ours, others, inner)
    squares = ratio**2
    if kind == "same":  # low end above 1 / margin and high end below margin
        top, bottom = low * margin**2 / squares, high / margin**2 / squares
        return np.asarray(np.maximum(0.0, fdtr(ours, others, top) - fdtr(ours, others, bottom)))
    above = fdtrc(ours, others, high * margin**2 / squares)
    below = fdtr(ours, others, low / margin**2 / squares)
    return np.asarray({"greater": above, "less": below, "different": above + below}[kind])


def _check(ratio: float, kind: Kind, margin: float, confidence: float) -> None:
    check_confidence(confidence)
    if kind not in KINDS:
        raise Refusal("bad_choice", f"kind is one of {', '.join(KINDS)}, not {kind!r}.")
    if not (ratio > 0 and math.isfinite(ratio)):
        raise Refusal("bad_ratio", f"A ratio of spreads is above 0 and finite, not {ratio}.")
    least = "above 1" if kind == "same" else "1 or above"
    if not (math.isfinite(margin) and (margin > 1 if kind == "same" else margin >= 1)):
        raise Refusal("bad_margin", f"The margin of a ratio is {least} for {kind!r}, not {margin}.")
