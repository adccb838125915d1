"""What would settle a claim: further blocks, or repeats, if the difference is as estimated.

A plan answers for the chance that the interval of the enlarged study leaves the margin on the side
the estimate lies, when the true difference is the estimate and the spreads are as fitted. New
blocks are taken to be measured as those so far. The degrees of freedom grow with the blocks; the
shared error of measuring stays as it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import nctdtr, ndtr, stdtrit

from workbench.claims.analysis import Analysis
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.rules import Decision, Direction

POWER = 0.8
MOST = 1_000

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The fewest further blocks, of one family alone or of each, that reach `POWER`.

    None where not even `MOST` would do. `rounds`, for a block claim, is how many times the
    readings would have to be taken in all. `gauge_limited` tells that the shared error of measuring
    alone keeps the claim open, however much is measured.
    """

    candidate_only: int | None = None
    reference_only: int | None = None
    of_each: int | None = None
    rounds: int | None = None
    gauge_limited: bool = False


def plan(evidence: Evidence, analysis: Analysis, claim: Claim, confidence: float) -> Plan:
    """Answer how much more measuring would settle an unresolved claim."""

    def chance(variance: Values, degrees: Values) -> Values:
        shared = analysis.shared.uncertainty**2
        total = variance + shared
        spread = variance**2 / degrees + shared**2 / analysis.shared.degrees_of_freedom
        return chance_decided(
            analysis.difference.estimate,
            np.sqrt(total),
            np.divide(total**2, spread, out=np.full_like(total, np.inf), where=spread > 0),
            direction=claim.direction,
            margin=claim.margin,
            confidence=confidence,
        )

    now = analysis.readings_only
    more = np.arange(1.0, MOST + 1)
    if analysis.shared.uncertainty > 0:
        endless = chance(np.array([1e-12 * now.standard_error**2]), np.array([math.inf]))
        if endless[0] < POWER:
            return Plan(gauge_limited=True)
    if claim.scope == "block":
        times = more + 1
        enough = chance(now.standard_error**2 / times, now.degrees_of_freedom * times) >= POWER
        first = _first(enough)
        return Plan(rounds=None if first is None else first + 1)
    ours, others = (
        _block_variance(evidence, analysis, family) for family in (claim.candidate, claim.reference)
    )
    many, few = (evidence.count(family).blocks for family in (claim.reference, claim.candidate))
    scale = now.standard_error**2 / (ours / few + others / many)

    def smallest(candidate: Values, reference: Values) -> int | None:
        variance = scale * (ours / (few + candidate) + others / (many + reference))
        growth = (few + candidate + many + reference - 2) / (few + many - 2)
        return _first(chance(variance, now.degrees_of_freedom * growth) >= POWER)

    none = np.zeros_like(more)
    return Plan(
        candidate_only=smallest(more, none),
        reference_only=smallest(none, more),
        of_each=smallest(more, more),
    )


def chance_decided(
    estimate: float,
    error: Values,
    degrees: Values,
    *,
    direction: Direction,
    margin: float,
    confidence: float,
) -> Values:
    """Give the chance that an interval leaves the margin on the side `estimate` lies.

    `error` and `degrees` are those of the enlarged study, one number a plan. One boundary: the
    upper tail of the noncentral t. Two boundaries to stay inside of: the two chances' sum less 1,
    a lower bound that is close when the chance is high.
    """
    tail = 1 - confidence
    if direction in ("greater", "less"):
        boundary = margin if direction == "greater" else -margin
        return _clears(abs(estimate - boundary), error, degrees, tail / 2)
    if abs(estimate) >= margin:
        return _clears(abs(estimate) - margin, error, degrees, tail / 2)
    inner = tail if direction == "same" else tail / 2
    sides = [_clears(margin + sign * estimate, error, degrees, inner) for sign in (-1, 1)]
    return np.maximum(sides[0] + sides[1] - 1, 0.0)


def slack(decision: Decision, direction: Direction, margin: float) -> float:
    """Give the shift of the difference that would bring a decided claim to its margin."""
    interval = decision.interval
    if direction in ("greater", "less"):
        boundary = margin if direction == "greater" else -margin
        return max(interval.low - boundary, boundary - interval.high)
    if decision.inner is not None and decision.outcome == "supported":
        interval = decision.inner
    inside = min(interval.low + margin, margin - interval.high)
    return max(inside, interval.low - margin, -margin - interval.high)


def _clears(distance: float, error: Values, degrees: Values, tail: float) -> Values:
    """Give the chance that t exceeds its critical value when the truth lies `distance` beyond."""
    critical = -stdtrit(degrees, tail)
    beyond = distance / error
    missed = nctdtr(degrees, beyond, critical)
    # far in the tail the routine gives NaN; there the normal limit is as good
    return np.asarray(1 - np.where(np.isnan(missed), ndtr(critical - beyond), missed), dtype=float)


def _first(enough: NDArray[np.bool_]) -> int | None:
    """Give the first number, counted from 1, from which on a plan is enough."""
    short = np.flatnonzero(~enough)
    first = int(short[-1]) + 2 if short.size else 1
    return first if first <= enough.size else None


def _block_variance(evidence: Evidence, analysis: Analysis, family: str) -> float:
    """Give the variance of one block's mean, averaged over the family's blocks as measured."""
    cells = evidence.of(family)
    components = analysis.components
    by_block = cells.groupby("block")
    bores = by_block["bore"].nunique().to_numpy()
    readings = by_block["n"].sum().to_numpy()
    variance = (
        components.get("block", 0.0)
        + components.get("bore", 0.0) / bores
        + components["residual"] / readings
    )
    return float(variance.mean())
