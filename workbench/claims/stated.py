"""What a verdict repeats of its claim, and how much was measured for it."""

from __future__ import annotations

from typing import Any

from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence


def stated(claim: Claim) -> dict[str, Any]:
    """Give what the claim states, as its verdict repeats it."""
    return {
        "claim": claim.id,
        "statement": claim.statement,
        "heard_from": claim.heard_from,
        "quantity": claim.quantity,
        "figure": claim.figure,
        "candidate": claim.candidate,
        "reference": claim.reference,
        "direction": claim.direction,
        "margin": claim.margin,
        "scope": claim.scope,
        "threshold": claim.threshold,
        "of": claim.of,
        "unit": claim.unit,
    }


def counts(claim: Claim, evidence: Evidence) -> dict[str, Any]:
    """Give how much was measured of either family."""
    ours, others = evidence.count(claim.candidate), evidence.count(claim.reference)
    return {
        "candidate_blocks": ours.blocks,
        "reference_blocks": others.blocks,
        "candidate_bores": ours.bores,
        "reference_bores": others.bores,
        "candidate_readings": ours.readings,
        "reference_readings": others.readings,
    }
