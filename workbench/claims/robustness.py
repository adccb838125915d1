"""Whether a verdict on a mean hangs on one block, or on taking all places together.

The block means farthest out decide which blocks are left out in turn, two of each family: no other
block moves the mean, or the spread, by as much. Each time the whole analysis is made again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from workbench.claims.analysis import Analysis, analyse
from workbench.claims.claim import Claim
from workbench.claims.evidence import SEPARATOR
from workbench.claims.rules import Decision, decide
from workbench.claims.verdict import Threat
from workbench.errors import Refusal
from workbench.inference.means.pooled import pooled
from workbench.inference.means.welch import Summary, welch
from workbench.records.rounding import p_text, quantity_text
from workbench.records.settings import Settings

LEAST_LEFT = 2  # blocks of a family that must stay: fewer are told of elsewhere
UNEVEN_BELOW = 0.01
ABOUT = (0.7, 1.0, 1.4)  # a standard error from block means is as good as this
PLACES = {"station": "station", "depth": "depth"}


def robustness_threats(
    claim: Claim, analysis: Analysis, decision: Decision, settings: Settings
) -> Iterator[Threat]:
    """Warn where one block turns the verdict, and where the families differ here and not there."""
    if claim.scope != "family":
        return
    yield from _single_blocks(claim, analysis, decision, settings)
    yield from _places(claim, analysis, settings)


def _single_blocks(
    claim: Claim, analysis: Analysis, decision: Decision, settings: Settings
) -> Iterator[Threat]:
    told = []
    for family in (claim.candidate, claim.reference):
        label = settings.family_label(family)
        for block in _outermost(analysis, family):
            if not _near(claim, analysis, block, decision):
                continue
            without = _without(claim, analysis, block, decision.interval.confidence)
            if without is not None and without.outcome != decision.outcome:
                name = block.split(SEPARATOR)[-1]
                p_value = p_text(without.told_p)
                told.append(
                    f"without {label} block {name} it would be {without.outcome} ({p_value})"
                )
    if told:
        yield Threat(
            code="influential_block",
            text=f"The verdict hangs on one block: {', '.join(told)}. Look at its readings again.",
        )


def _outermost(analysis: Analysis, family: str) -> list[str]:
    """Name the blocks of a family with the least and the greatest mean."""
    mine = analysis.of_blocks(family)
    if len(mine) <= LEAST_LEFT:
        return []
    return [str(mine.idxmin()), str(mine.idxmax())]


def _near(claim: Claim, analysis: Analysis, block: str, decision: Decision) -> bool:
    """Tell by the block means alone whether the verdict could be another without a block."""
    ours, others = (
        means[analysis.of_blocks(family).index != block]
        for family in (claim.candidate, claim.reference)
        for means in [analysis.means_of(family)]
    )
    compare = pooled if min(ours.size, others.size) < LEAST_LEFT or not analysis.own else welch
    try:
        rough = compare(Summary.of(ours), Summary.of(others))
    except Refusal:
        return True
    return any(
        decide(
            replace(rough, standard_error=times * rough.standard_error),
            direction=claim.direction,
            margin=claim.margin,
            confidence=decision.interval.confidence,
        ).outcome
        != decision.outcome
        for times in ABOUT
    )


def _without(claim: Claim, analysis: Analysis, block: str, confidence: float) -> Decision | None:
    """Judge anew without a block, the shared error of measuring as it was; None if refused."""
    evidence = analysis.evidence
    left = replace(evidence, cells=evidence.cells[evidence.cells["block"] != block])
    try:
        # gauges are left out: what they share was found with all blocks and hardly changes
        found = analyse(left, {}, claim.scope, asked=claim.analysis).readings_only
    except Refusal:
        return None
    shared = analysis.shared
    return decide(
        found.widened(shared.uncertainty, shared.degrees_of_freedom),
        direction=claim.direction,
        margin=claim.margin,
        confidence=confidence,
    )


def _places(claim: Claim, analysis: Analysis, settings: Settings) -> Iterator[Threat]:
    from workbench.inference.nested.place_profiles import place_profiles

    ours, others = (settings.family_label(of) for of in (claim.candidate, claim.reference))
    for column, word in PLACES.items():
        cells = analysis.evidence.cells
        try:
            found = place_profiles(
                cells,
                candidate=claim.candidate,
                reference=claim.reference,
                by=column,
                value="mean",
            )
        except Refusal:
            continue
        if found.p_value >= UNEVEN_BELOW:
            continue
        error = found.beyond[found.most].standard_error
        most, least = (
            f"{quantity_text(found.apart[place], error, claim.unit)} at {word} {place}"
            for place in (found.most, found.least)
        )
        yield Threat(
            code="uneven_difference",
            text=f"The difference of {ours} and {others} blocks is not the same at every {word}: "
            f"{most}, {least} ({p_text(found.p_value)} for one difference everywhere). A mean "
            "over places hides that.",
        )
