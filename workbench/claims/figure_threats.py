"""What could make a verdict on a spread, a thinnest place or a share wrong."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from workbench.claims.calibration_threats import calibrated
from workbench.claims.checks import disagreeing
from workbench.claims.choosing import OWN_FROM
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.figure_analysis import FigureAnalysis, in_unit
from workbench.claims.grid import Grid
from workbench.claims.planning import slack
from workbench.claims.rules import Decision
from workbench.claims.spread_claims import ERROR_OFF
from workbench.claims.thinnest_claims import HUNTED
from workbench.claims.threats import (
    excluded,
    gauges_apart,
    gauges_of,
    single_operator,
    unstated_gauges,
)
from workbench.claims.verdict import Check, Threat
from workbench.records.rounding import p_text, quantity_text
from workbench.records.settings import Settings

MISSED_AT_WORST = 20  # by simulation: tests/calibration/figure_errors.txt
MISSED_BY_OWN = (
    " Should they really vary twice as much as those of the other family, 95% intervals miss the "
    "truth about 9 times in 100 instead of 5."
)
# Simulated: tests/calibration/share_errors.csv.
MISSED = {
    "share_below": " Should they vary twice as much, 95% intervals miss the truth up to 9 times in "
    "100 instead of 5."
}


def figure_threats(
    claim: Claim,
    evidence: Evidence,
    analysis: FigureAnalysis,
    checks: Sequence[Check],
    decision: Decision,
    settings: Settings,
) -> Iterator[Threat]:
    """List the threats to a verdict that the evidence and its analysis show."""
    if claim.scope == "family":
        yield from _blocks(claim, evidence, analysis, settings)
    if analysis.grid and (claim.figure == "thinnest" or claim.of != "places"):
        yield from _grid(claim, analysis.grid, settings)
    yield from _gauges(claim, evidence, analysis, decision, settings)
    yield from single_operator(claim, evidence)
    yield from unstated_gauges(analysis.shared)
    yield from _checks(checks, decision)
    yield from _hunted(checks, decision)
    yield from calibrated(in_unit(claim, analysis.unit), evidence, analysis, decision, settings)
    yield from excluded(evidence.left_out, settings)


def _blocks(
    claim: Claim, evidence: Evidence, analysis: FigureAnalysis, settings: Settings
) -> Iterator[Threat]:
    families = (claim.candidate, claim.reference)
    for family, other in (families, families[::-1]):
        blocks = evidence.count(family).blocks
        label, other_label = settings.family_label(family), settings.family_label(other)
        leans = {
            "spread": "so few tell little of how they differ, and the interval takes blocks to be "
            "normal in shape",
            "thinnest": f"how they differ is told by their own spread, which {blocks} blocks tell "
            "poorly"
            if analysis.own_spreads
            else f"how they differ is taken to be as in {other_label} blocks",
            "share_below": f"how alike the places of one block are is taken to be as in "
            f"{other_label} blocks",
        }[claim.figure]
        if blocks == 1:
            yield Threat(
                code="one_block",
                text=f"Only one {label} block was measured, so how much {label} blocks differ "
                f"among themselves cannot be seen: {leans}. If they differ more, the interval is "
                f"too short.{MISSED.get(claim.figure, '')}",
            )
        elif blocks < OWN_FROM:
            own = claim.figure == "thinnest" and analysis.own_spreads
            cost = MISSED_BY_OWN if own else MISSED.get(claim.figure, "")
            yield Threat(
                code="few_blocks",
                text=f"Only {blocks} {label} blocks were measured: {leans}, and they are taken to "
                f"be a fair draw of their family.{cost}",
            )
    if not analysis.own_spreads:
        yield Threat(
            code="common_spread",
            text=f"Fewer than {OWN_FROM} blocks of a family were measured, so one spread between "
            "blocks was taken for both families. Should the family of fewer blocks really vary "
            f"twice as much, 95% intervals miss the truth about {MISSED_AT_WORST} times in 100 "
            "instead of 5.",
        )


def _grid(claim: Claim, grid: Grid, settings: Settings) -> Iterator[Threat]:
    """Say which blocks were read at too few places for their least reading to count."""
    short = [
        f"{number} {settings.family_label(family)} block{'' if number == 1 else 's'}"
        for family in (claim.candidate, claim.reference)
        if (number := grid.left_out(family))
    ]
    if short:
        yield Threat(
            code="incomplete_grid",
            text=f"Not counted where least readings are asked for: {' and '.join(short)}, read at "
            f"fewer than nine tenths of the grid ({grid.words}); the least of fewer readings is "
            "higher.",
        )


def _gauges(
    claim: Claim,
    evidence: Evidence,
    analysis: FigureAnalysis,
    decision: Decision,
    settings: Settings,
) -> Iterator[Threat]:
    if not gauges_apart(claim, evidence):
        return
    lists = gauges_of(claim, evidence, settings)
    text = f"The two families were not read with the same gauges ({lists}): "
    if claim.figure == "spread":
        text += (
            "a steady error of a gauge leaves the spread as it is, but one that scatters more, or "
            "was set anew from block to block, makes a family look less even than it is"
        )
    else:
        text += "an error of a gauge cannot be told from a difference of the families"
        if analysis.shared.parts:
            text += " beyond what its calibrations tell of it"
        if decision.outcome != "unresolved":
            bias = slack(decision, claim.direction, claim.margin)
            error = analysis.difference.standard_error
            size = quantity_text(bias, error, analysis.unit, analysis.finest)
            text += (
                f"; a bias of {size} of one against the other would overturn the verdict"
                if claim.figure == "thinnest"
                else f"; one that moved the shares apart by {size} would overturn the verdict"
            )
    yield Threat(code="single_gauge_each", text=f"{text}.")


def _checks(checks: Sequence[Check], decision: Decision) -> Iterator[Threat]:
    others = disagreeing(checks, decision.outcome)
    if not others:
        return
    said = ", ".join(f"{check.name}: {check.outcome} ({p_text(check.p_value)})" for check in others)
    code = (
        "error_in_spread" if [check.name for check in others] == [ERROR_OFF] else "checks_disagree"
    )
    yield Threat(
        code=code,
        text=f"Another analysis of the same readings comes to another outcome ({said}); the "
        "verdict depends on the choice of analysis.",
    )


def _hunted(checks: Sequence[Check], decision: Decision) -> Iterator[Threat]:
    """Say where readings hunted for, which can only lower a block, would change the outcome."""
    for check in checks:
        if check.name == HUNTED and check.outcome not in (None, decision.outcome):
            yield Threat(
                code="searched_lower",
                text="Counting in the readings at places hunted for, which can only lower a "
                f"block's thinnest place, the claim would be {check.outcome} "
                f"({p_text(check.p_value)}); {check.note}.",
            )
