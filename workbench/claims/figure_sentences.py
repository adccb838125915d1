"""A verdict on a spread, a thinnest place or a share in plain English, and what would change it."""

from __future__ import annotations

from workbench.castings.inspection import CORE_SHIFT
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.figure_analysis import FamilyFigure, FigureAnalysis, in_unit
from workbench.claims.planning import MOST, POWER, Plan
from workbench.claims.rules import Decision
from workbench.claims.sentences import amount, held_against, percent, ways_to_settle
from workbench.records.quantity_table import SHARE
from workbench.records.rounding import digits_for, interval_text, number_text, p_text, quantity_text
from workbench.records.settings import Settings


def figure_sentence(
    claim: Claim,
    evidence: Evidence,
    analysis: FigureAnalysis,
    decision: Decision,
    settings: Settings,
) -> str:
    """Write the verdict of a claim on another figure than the mean."""
    shown = decision.interval
    if decision.inner is not None and decision.outcome != "contradicted":
        shown = decision.inner
    error, step = analysis.difference.standard_error, analysis.finest
    interval = interval_text(shown.low, shown.high, analysis.unit, uncertainty=error, step=step)
    asked = in_unit(claim, analysis.unit)
    p = decision.told_p
    ours, others = (settings.family_label(f) for f in (claim.candidate, claim.reference))
    alone = "" if claim.scope == "family" else ", and holds for these blocks alone"
    return (
        f"{_found(claim, analysis, settings)} "
        f"({percent(shown.confidence)} interval of the difference {interval}); "
        f"{held_against(asked, decision)} ({p_text(p)}). "
        f"It rests on {amount(evidence.count(claim.candidate), ours)} and "
        f"{amount(evidence.count(claim.reference), others)}{alone}."
    )


def _found(claim: Claim, analysis: FigureAnalysis, settings: Settings) -> str:
    """Say what the figure of each family is, and how far they lie apart."""
    label = settings.quantities[claim.quantity].label
    ours, others = (settings.family_label(f) for f in (claim.candidate, claim.reference))
    values = [_value(family, analysis) for family in analysis.families]
    estimate = analysis.difference.estimate
    size = _size(abs(estimate), analysis)
    side = "more" if estimate >= 0 else "less"
    measured = " measured" if claim.scope == "block" else ""
    if claim.figure == "spread":
        return (
            f"From block to block the mean {label} varies by a standard deviation of {values[0]} "
            f"among the {ours} blocks{measured} and of {values[1]} among the {others} "
            f"blocks{measured}: {size} {side}"
        )
    if claim.figure == "thinnest":
        least = least_word(claim, settings)
        return (
            f"On the grid both families were read on ({analysis.words}) the {least} {label} of a "
            f"{ours} block{measured} is {values[0]} on average, that of a {others} "
            f"block{measured} {values[1]}: {size} {side}"
        )
    limit = quantity_text(claim.threshold or 0.0, unit=claim.unit)
    units = {
        "places": "the places of {} blocks",
        "bores": "the bores of {} blocks",
        "blocks": "the {} blocks",
    }[claim.of]
    what = f"a {label} below {limit}"
    if claim.of != "places":
        what = f"a place with {what}"
    return (
        f"On the grid both families were read on ({analysis.words}) {values[0]} of "
        f"{units.format(ours)}{measured} have {what}, and {values[1]} of "
        f"{units.format(others)}{measured}: a difference of "
        f"{'-' if estimate < 0 else ''}{size}"
    )


def _size(value: float, analysis: FigureAnalysis) -> str:
    """Give a difference to the digits of its uncertainty."""
    error = analysis.difference.standard_error
    return quantity_text(value, error, analysis.unit, analysis.finest)


def _value(family: FamilyFigure, analysis: FigureAnalysis) -> str:
    """Give the figure of one family, to the digits of its own uncertainty where that is known."""
    error = (
        family.interval.half_width / 2
        if family.interval is not None
        else analysis.difference.standard_error
    )
    if analysis.unit == SHARE:
        return share_text(family.value, error)
    return quantity_text(family.value, error, analysis.unit, analysis.finest)


def share_text(share: float, uncertainty: float) -> str:
    """Give a share in per cent, to the digits its uncertainty allows.

    >>> share_text(0.0821, 0.03), share_text(0.0, 0.01)
    ('8%', '0%')
    """
    return f"{number_text(100 * share, max(digits_for(100 * uncertainty, 0.1), 0))}%"


def least_word(claim: Claim, settings: Settings) -> str:
    """Give the word for the least value: smallest for a shift, thinnest for a length, or lowest."""
    if claim.quantity == CORE_SHIFT:
        return "smallest"
    return "thinnest" if settings.quantities[claim.quantity].kind == "length" else "lowest"


def figure_next_step(
    claim: Claim, analysis: FigureAnalysis, found: Plan | float, settings: Settings
) -> str:
    """Write what would change a verdict: a plan for an open claim, the slack of a decided one."""
    if not isinstance(found, Plan):
        error = _size(found, analysis)
        fair = (
            ", or if the blocks measured are no fair draw of their families"
            if claim.scope == "family"
            else ""
        )
        what = {
            "spread": "the scatter of measuring had added so much more to the spread of one "
            f"family than of the other that they stood {error} apart",
            "thinnest": "the measuring of one family against the other were off by "
            f"{error} or more in the unfavourable direction",
            "share_below": "measuring had carried so many places of one family across the limit "
            f"that the shares stood {error} apart",
        }[claim.figure]
        return f"The verdict would fall if {what}{fair}."
    if found.gauge_limited:
        return (
            "More blocks or readings cannot settle this: the shared uncertainty of measuring "
            f"({_size(analysis.shared.uncertainty, analysis)} on the difference) is too large. "
            "Calibrate the gauges on better reference pieces, or read both families with the same "
            "gauge under one calibration."
        )
    if claim.scope == "block":
        if found.rounds is None:
            return f"Repeating the readings, even {MOST} times, would hardly settle this."
        return (
            f"Taking the readings {found.rounds} times in all would settle this with a chance of "
            f"about {percent(POWER)}, if the difference is as estimated."
        )
    ways = ways_to_settle(claim, found, settings)
    if not ways:
        return (
            f"More blocks would hardly settle this, not even {MOST} of each: the estimate lies too "
            "near the margin. A claim with another margin could be settled."
        )
    return (
        "If the difference is as estimated and further blocks are measured like these, this would "
        f"be settled with a chance of about {percent(POWER)} by {ways}."
    )
