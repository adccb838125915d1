"""What would settle a claim on a spread, a thinnest place or a share: further blocks, or repeats.

The uncertainty is taken to fall with the blocks of each family as it does now, the figures to be
as estimated; the shared error of measuring stays. The chance is that of `planning.chance_decided`,
close for many blocks and rough for few; that one of two spreads is larger, by the F ratio, exactly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from workbench.claims.claim import Claim
from workbench.claims.figure_analysis import FigureAnalysis
from workbench.claims.planning import MOST, POWER, Plan, chance_decided
from workbench.inference.planning.aims import Kind
from workbench.inference.planning.spread_ratio import spread_powers
from workbench.inference.samples import Values

LITTLE = 0.01  # of the variance: a shared error that leaves a spread to its F ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioOfSpreads:
    """The candidate's standard deviation over the reference's, as found.

    `tails` is the share of its blocks less one that counts in each family, 1 without heavy tails.
    """

    ratio: float
    tails: tuple[float, float]


def ratio_of_spreads(
    claim: Claim, analysis: FigureAnalysis, blocks: tuple[int, int]
) -> RatioOfSpreads | None:
    """Give the ratio where the claim is that one spread is larger, and not by how much; else None.

    Also None where an error of measuring shared by some blocks has a say.
    """
    if claim.figure != "spread" or claim.scope != "family" or claim.margin != 0:
        return None
    variances = [each / n for each, n in zip(analysis.variances, blocks, strict=True)]
    if analysis.shared.uncertainty**2 > LITTLE * sum(variances):
        return None
    own, other = (family.value for family in analysis.families)
    ours, others = (
        value**2 / (2 * variance * (n - 1))
        for value, variance, n in zip((own, other), variances, blocks, strict=True)
    )
    return RatioOfSpreads(ratio=own / other, tails=(ours, others))


def plan_figure(
    claim: Claim, analysis: FigureAnalysis, blocks: tuple[int, int], confidence: float
) -> Plan:
    """Answer how much more measuring would settle an unresolved claim."""
    shared = analysis.shared.uncertainty**2
    own, other = analysis.variances

    def chance(variance: Values, degrees: Values) -> Values:
        return chance_decided(
            analysis.difference.estimate,
            np.sqrt(variance + shared),
            degrees,
            direction=claim.direction,
            margin=claim.margin,
            confidence=confidence,
        )

    few, many = blocks
    now = own / few + other / many
    more = np.arange(1.0, MOST + 1)
    if shared > 0 and chance(np.array([1e-12 * now]), np.array([math.inf]))[0] < POWER:
        return Plan(gauge_limited=True)
    if claim.scope == "block":
        times = more + 1
        first = _first(chance(now / times, np.full_like(times, math.inf)) >= POWER)
        return Plan(rounds=None if first is None else first + 1)

    spreads = ratio_of_spreads(claim, analysis, blocks)

    def smallest(candidate: Values, reference: Values) -> int | None:
        if spreads is not None:
            ours, others = (
                part * (n + new - 1)
                for part, n, new in zip(spreads.tails, blocks, (candidate, reference), strict=True)
            )
            kind: Kind = "greater" if spreads.ratio >= 1 else "less"
            powers = spread_powers(spreads.ratio, ours, others, kind=kind, confidence=confidence)
            return _first(powers >= POWER)
        variance = own / (few + candidate) + other / (many + reference)
        degrees = few + candidate + many + reference - 2
        return _first(chance(variance, degrees) >= POWER)

    none = np.zeros_like(more)
    return Plan(
        candidate_only=smallest(more, none),
        reference_only=smallest(none, more),
        of_each=smallest(more, more),
    )


def _first(enough: np.ndarray) -> int | None:
    """Give the first number, counted from 1, from which on a plan is enough."""
    short = np.flatnonzero(~enough)
    first = int(short[-1]) + 2 if short.size else 1
    return first if first <= enough.size else None
