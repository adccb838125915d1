"""What would settle a claim on a spread, a thinnest place or a share: further blocks, or repeats.

The uncertainty is taken to fall with the blocks of each family as it does now, the figures to be
as estimated; the shared error of measuring stays. The chance is that of `planning.chance_decided`,
close for many blocks and rough for few.
"""

from __future__ import annotations

import math

import numpy as np

from workbench.claims.claim import Claim
from workbench.claims.figure_analysis import FigureAnalysis
from workbench.claims.planning import MOST, POWER, Plan, chance_decided
from workbench.inference.samples import Values


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

    def smallest(candidate: Values, reference: Values) -> int | None:
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
