"""Power of a comparison of two spreads by the F ratio, for normal families.

References
----------
Davies, O. L. (1954). The Design and Analysis of Industrial Experiments, section 2.5 and table H
(from memory).
"""

from __future__ import annotations

import math

from scipy.special import fdtr, fdtrc, fdtri

from workbench.errors import Refusal
from workbench.inference.planning.aims import KINDS, Kind, check_power
from workbench.inference.planning.blocks import MOST, fewest
from workbench.inference.results import check_confidence


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
    ours, others = candidate - 1, reference - 1
    tail = (1 - confidence) / 2
    inner = 2 * tail if kind == "same" else tail
    high, low = float(fdtri(ours, others, 1 - inner)), float(fdtri(ours, others, inner))
    squares = ratio**2
    if kind == "same":  # low end above 1 / margin and high end below margin
        top, bottom = low * margin**2 / squares, high / margin**2 / squares
        return max(0.0, float(fdtr(ours, others, top) - fdtr(ours, others, bottom)))
    above = float(fdtrc(ours, others, high * margin**2 / squares))
    below = float(fdtr(ours, others, low / margin**2 / squares))
    return {"greater": above, "less": below, "different": above + below}[kind]


def spread_blocks(
    ratio: float,
    *,
    kind: Kind = "different",
    margin: float = 1.0,
    confidence: float = 0.95,
    power: float = 0.8,
    most: int = MOST,
) -> int | None:
    """Answer how many blocks of each family show what is claimed of two standard deviations.

    Parameters
    ----------
    ratio, kind, margin, confidence
        As for `spread_power`.
    power : float
        The chance wanted.

    Returns
    -------
    int or None
        None where the ratio does not lie beyond the margin, or `most` would not do.

    Examples
    --------
    Half the spread is seen with 80 % from so many blocks a family:

    >>> spread_blocks(0.5)
    19
    """
    check_power(power)
    _check(ratio, kind, margin, confidence)
    apart = abs(math.log(ratio))
    reachable = {
        "greater": ratio > margin,
        "less": ratio < 1 / margin,
        "same": apart < math.log(margin),
        "different": apart > math.log(margin),
    }
    if not reachable[kind]:
        return None
    return fewest(
        lambda n: (
            spread_power(ratio, n, n, kind=kind, margin=margin, confidence=confidence) >= power
        ),
        least=2,
        most=most,
    )


def _check(ratio: float, kind: Kind, margin: float, confidence: float) -> None:
    check_confidence(confidence)
    if kind not in KINDS:
        raise Refusal("bad_choice", f"kind is one of {', '.join(KINDS)}, not {kind!r}.")
    if not (ratio > 0 and math.isfinite(ratio)):
        raise Refusal("bad_ratio", f"A ratio of spreads is above 0 and finite, not {ratio}.")
    least = "above 1" if kind == "same" else "1 or above"
    if not (math.isfinite(margin) and (margin > 1 if kind == "same" else margin >= 1)):
        raise Refusal("bad_margin", f"The margin of a ratio is {least} for {kind!r}, not {margin}.")
