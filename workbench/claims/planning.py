"""What would settle a claim: further blocks, or repeats, if the difference is as estimated.

A plan answers for the chance that the interval of the enlarged study leaves the margin on the side
the estimate lies, when the true difference is the estimate and the spreads are as fitted. New
blocks are taken to be measured as those so far; the shared error of measuring stays as it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import nctdtr, ndtr, stdtrit

from workbench.claims.analysis import Analysis
from workbench.claims.choosing import OWN_FROM
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.rules import Decision, Direction
from workbench.errors import Refusal
from workbench.inference.planning.aims import KINDS, Aim
from workbench.inference.planning.assurance import assurance_of_more
from workbench.inference.planning.blocks import fewest, fewest_blocks, power_of
from workbench.inference.planning.detectable import (
    detectable_difference,
    precision_of,
    showable_margin,
)
from workbench.inference.planning.layouts import Layout, Precision, Spreads, contrast_precision
from workbench.inference.results import Difference

POWER = 0.8
MOST = 1_000
ENDLESS = 1e9  # degrees of freedom: as good as known
LEAST_ERROR = 1e-300  # where nothing is uncertain: it only keeps a quotient defined

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The fewest further blocks, of one family alone or of each, that reach `POWER`.

    None where not even `MOST` would do. `assured` is the chance of the plan with blocks of each
    when what the estimate itself leaves open is counted. `rounds`, for a block claim, is how many
    times the readings would have to be taken in all. `gauge_limited` tells that the shared error of
    measuring alone keeps the claim open, however much is measured. `detectable` is the distance
    from the margin at which the study as it stands would have settled the claim with `POWER`.
    """

    candidate_only: int | None = None
    reference_only: int | None = None
    of_each: int | None = None
    assured: float = math.nan
    rounds: int | None = None
    gauge_limited: bool = False
    detectable: float = math.nan


def plan(evidence: Evidence, analysis: Analysis, claim: Claim, confidence: float) -> Plan:
    """Answer how much more measuring would settle an unresolved claim."""
    aim = settled_by(claim, analysis.difference.estimate, confidence)
    now, shared = analysis.for_plans, analysis.shared.uncertainty
    found = detectable(analysis, claim, confidence)
    endless = Precision(standard_error=shared or 1.0, degrees_of_freedom=ENDLESS)
    if shared > 0 and power_of(aim, endless) < POWER:
        return Plan(gauge_limited=True, detectable=found)
    if claim.scope == "block":

        def enough(times: int) -> bool:
            precision = Precision(
                standard_error=now.standard_error / math.sqrt(times),
                degrees_of_freedom=min(now.degrees_of_freedom * times, ENDLESS),
            ).widened(shared)
            return power_of(aim, precision) >= POWER

        return Plan(rounds=fewest(enough, least=2, most=MOST), detectable=found)
    counts: dict[str, Any] = {
        "candidate": evidence.count(claim.candidate).blocks,
        "reference": evidence.count(claim.reference).blocks,
    }
    spreads = _spreads(analysis, claim)
    more = {
        add: fewest_blocks(aim, add=add, power=POWER, shared=shared, most=MOST, **counts, **spreads)
        for add in ("candidate", "reference", "each")
    }
    return Plan(
        candidate_only=more["candidate"],
        reference_only=more["reference"],
        of_each=more["each"],
        assured=_assured(claim, confidence, analysis, counts, more["each"], spreads),
        detectable=found,
    )


def settled_by(claim: Claim, estimate: float, confidence: float) -> Aim:
    """Give what must be shown to settle a claim on the side the estimate lies."""
    aims = _either_way(claim.direction, claim.margin, estimate, confidence)
    return max(aims, key=lambda aim: (aim.reachable, -KINDS.index(aim.kind)))


def detectable(analysis: Analysis, claim: Claim, confidence: float) -> float:
    """Answer how far from its margin the truth must lie for the study as it is to settle the claim.

    For a claim of sameness, the margin it could have shown had there been no difference.
    """
    precision = precision_of(analysis.difference)
    if not math.isfinite(precision.degrees_of_freedom):
        precision = Precision(standard_error=precision.standard_error, degrees_of_freedom=ENDLESS)
    try:
        if claim.direction == "same":
            return showable_margin(precision, confidence=confidence, power=POWER)
        return detectable_difference(precision, kind="greater", confidence=confidence, power=POWER)
    except Refusal:
        return math.nan


def _spreads(analysis: Analysis, claim: Claim) -> dict[str, Any]:
    """Give the spread of one block's mean as measured: common, or each family's own.

    A spread that is common now is taken apart by the analysis once there are blocks enough.
    """
    now = analysis.for_plans
    counts = [analysis.means_of(family).size for family in (claim.candidate, claim.reference)]
    if analysis.own and not analysis.plans_alike:
        ours, others = (
            float(analysis.means_of(family).std(ddof=1))
            for family in (claim.candidate, claim.reference)
        )
        least = 1e-6 * now.standard_error
        return {
            "spreads": Spreads(block=max(ours, least)),
            "reference_spreads": Spreads(block=max(others, least)),
        }
    return {
        "spreads": Spreads(block=now.standard_error / math.sqrt(sum(1 / n for n in counts))),
        "own_from": OWN_FROM if claim.analysis is None else math.inf,
    }


def _assured(
    claim: Claim,
    confidence: float,
    analysis: Analysis,
    counts: dict[str, int],
    of_each: int | None,
    spreads: dict[str, Any],
) -> float:
    """Give the chance that the enlarged study settles it, all that is not known averaged over."""
    if of_each is None:
        return math.nan
    layouts = [Layout(blocks=count + of_each) for count in counts.values()]
    apart = spreads["spreads"] if min(layout.blocks for layout in layouts) >= OWN_FROM else None
    own = spreads.get("reference_spreads") or (apart if claim.analysis is None else None)
    return chance_settled(
        analysis.for_plans,
        contrast_precision(spreads["spreads"], *layouts, reference_spreads=own),
        direction=claim.direction,
        margin=claim.margin,
        confidence=confidence,
        shared=analysis.shared.uncertainty,
    )


def chance_settled(
    now: Difference,
    then: Precision,
    *,
    direction: Direction,
    margin: float,
    confidence: float,
    shared: float = 0.0,
    shared_then: float | None = None,
) -> float:
    """Give the chance that a study once enlarged settles a claim either way, from what is known.

    `now` is the difference found so far and `then` the precision of the enlarged study, both of
    the readings alone; `shared` is the error of measuring now, `shared_then` after a calibration.
    """
    return sum(
        assurance_of_more(
            now,
            then,
            kind=aim.kind,
            margin=aim.margin,
            confidence=aim.confidence,
            shared=shared,
            shared_then=shared_then,
        )
        for aim in _either_way(direction, margin, now.estimate, confidence)
    )


def _either_way(
    direction: Direction, margin: float, estimate: float, confidence: float
) -> Iterator[Aim]:
    """Give what would have to be shown for a claim to be supported, and to be contradicted."""
    if direction in ("greater", "less"):
        boundary = margin if direction == "greater" else -margin
        yield Aim(kind="greater", difference=estimate, margin=boundary, confidence=confidence)
        yield Aim(kind="less", difference=estimate, margin=-boundary, confidence=confidence)
        return
    yield Aim(kind="different", difference=estimate, margin=margin, confidence=confidence)
    if margin > 0:
        # a claim of a difference is contradicted by the whole two-sided interval inside its margins
        inner = confidence if direction == "same" else (1 + confidence) / 2
        yield Aim(kind="same", difference=estimate, margin=margin, confidence=inner)


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
    beyond = distance / np.maximum(error, LEAST_ERROR)
    missed = nctdtr(degrees, beyond, critical)
    # far in the tail the routine gives NaN; there the normal limit is as good
    return np.asarray(1 - np.where(np.isnan(missed), ndtr(critical - beyond), missed), dtype=float)
