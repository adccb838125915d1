"""Two other analyses beside the nested model: Welch on block means, and the blocks dealt anew.

Both take one number a block, its mean on a common footing of stations, depths and gauges.
"""

from __future__ import annotations

from collections.abc import Sequence

from workbench.claims.analysis import Analysis
from workbench.claims.claim import Claim
from workbench.claims.rules import Answer, decide
from workbench.claims.verdict import Check
from workbench.errors import Refusal
from workbench.inference.means.welch import Summary, welch
from workbench.inference.resampling.permutation import permute_blocks

WELCH = "Welch on block means"
PERMUTATION = "permutation of blocks"
UNCOUNTED = 0.25  # of the standard error: counted, it would add 3 % to it


def checks_beside(
    analysis: Analysis, claim: Claim, confidence: float, seed: Sequence[int]
) -> tuple[Check, ...]:
    """Judge the claim by the two checks; one that cannot be made says why."""
    if claim.scope == "block":
        note = "not made: it asks about blocks not yet measured, this claim only of those that were"
        return (Check(name=WELCH, note=note), Check(name=PERMUTATION, note=note))
    return (
        _welch(analysis, claim, confidence),
        _permutation(analysis, claim, confidence, seed),
    )


def disagreeing(checks: Sequence[Check], outcome: str) -> tuple[Check, ...]:
    """Give the checks that come to another outcome."""
    return tuple(
        check
        for check in checks
        if check.binding and check.outcome is not None and check.outcome != outcome
    )


def _welch(analysis: Analysis, claim: Claim, confidence: float) -> Check:
    candidate, reference = (
        analysis.means_of(family) for family in (claim.candidate, claim.reference)
    )
    try:
        difference = welch(Summary.of(candidate), Summary.of(reference))
    except Refusal:
        return Check(name=WELCH, note="not made: each family needs two blocks that differ")
    shared = analysis.shared
    widened = difference.widened(shared.uncertainty, shared.degrees_of_freedom)
    return _judged(WELCH, widened, claim, confidence)


def _permutation(analysis: Analysis, claim: Claim, confidence: float, seed: Sequence[int]) -> Check:
    dealt = permute_blocks(
        analysis.means_of(claim.candidate), analysis.means_of(claim.reference), seed=seed
    )
    notes = [
        f"all {dealt.resamples} arrangements"
        if dealt.exact
        else f"{dealt.resamples} random arrangements"
    ]
    judged = _judged(PERMUTATION, dealt, claim, confidence)
    outcome = judged.outcome
    if dealt.smallest_p >= 1 - confidence:
        outcome = None
        notes.append("too few blocks for it to decide anything")
    shared = analysis.shared.uncertainty
    if shared > 0:
        notes.append("the shared error of measuring is not counted")
    return Check(
        name=judged.name,
        estimate=judged.estimate,
        low=judged.low,
        high=judged.high,
        p_value=judged.p_value,
        outcome=outcome,
        note="; ".join(notes),
        binding=shared <= UNCOUNTED * analysis.readings_only.standard_error,
    )


def _judged(name: str, answer: Answer, claim: Claim, confidence: float) -> Check:
    decision = decide(answer, direction=claim.direction, margin=claim.margin, confidence=confidence)
    return Check(
        name=name,
        estimate=answer.estimate,
        low=decision.interval.low,
        high=decision.interval.high,
        p_value=decision.p_value,
        outcome=decision.outcome,
    )
