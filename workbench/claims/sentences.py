"""A verdict in plain English: the effect first, then p, then how much it rests on."""

from __future__ import annotations

import math

from workbench.castings.inspection import CORE_SHIFT
from workbench.claims.analysis import Analysis
from workbench.claims.claim import Claim
from workbench.claims.evidence import Count, Evidence
from workbench.claims.planning import MOST, POWER, Plan
from workbench.claims.rules import Decision
from workbench.records.rounding import interval_text, p_text, quantity_text
from workbench.records.settings import Settings

REMEDIES = {
    "analysis_does_not_fit": "Name another analysis, or none.",
    "too_few_blocks": "Measure further blocks: three in all is the least, five of each is a start.",
    "no_readings": "Record readings of this quantity for both families.",
    "no_shared_station": "Read both families at the same stations and depths.",
    "not_like_with_like": "Read each block at every station and depth.",
    "limit_not_kept": "Read blocks with a gauge that shows, and a record that keeps, what lies "
    "beyond the threshold; or ask for a threshold within what was kept.",
    "limit_far_off": "State the threshold in the unit of the claim, and near what was read.",
    "no_repeats": "Repeat readings at the same places, at least ten of them.",
    "feature_scope": "State the claim for families, or count the blocks by hand.",
    "graded_feature": "Declare a yes/no feature, or ask for share_below a grade.",
    "feature_figure": "State the claim on the mean of a yes/no feature, or on share_below.",
    "no_blocks_left": "Look again at the blocks that were seen half and half.",
    "one_block_no_spread": "Measure a second block of that family, better five.",
    "no_block_spread": "Read with a finer gauge.",
    "zero_spread": "Read with a finer gauge.",
    "analysis_needs_readings": "Leave the analysis to the workbench, or ask for welch.",
    "summary_tells_no_error": "State the claim for families, or record readings of these blocks.",
    "summary_tells_no_places": "State the claim on the mean or the spread, or record readings.",
    "incomplete_grid": "Read the blocks at all places of the grid.",
    "no_spread": "Read with a finer gauge.",
    "no_residual_spread": "Read with a finer gauge.",
    "too_little_left": "Measure further blocks at fewer different places and by fewer gauges.",
    "no_standard_error": "Measure further blocks at fewer different places and by fewer gauges.",
    "not_separable": "Measure further blocks at fewer different places and by fewer gauges.",
    "bad_confidence": "State a confidence above 0.5 in study.toml.",
    "unit_mismatch": "State the claim, or the gauge's uncertainty, in a unit of this quantity.",
    "hardness_scale": "State the claim in the hardness scale the readings are in.",
    "no_replication": "Measure further blocks of both families with each gauge.",
}
OTHERWISE = "Mend what the reason names, then judge again."


def sentence(
    claim: Claim, evidence: Evidence, analysis: Analysis, decision: Decision, settings: Settings
) -> str:
    """Write the verdict of a claim that has numbers."""
    ours, others = (settings.family_label(family) for family in (claim.candidate, claim.reference))
    error, step = analysis.difference.standard_error, evidence.finest
    estimate = analysis.difference.estimate
    size = quantity_text(abs(estimate), error, claim.unit, step)
    side = "above" if estimate >= 0 else "below"
    shown = decision.interval
    if decision.inner is not None and decision.outcome != "contradicted":
        shown = decision.inner
    interval = interval_text(shown.low, shown.high, claim.unit, uncertainty=error, step=step)
    p = decision.told_p
    blocks = "blocks" if claim.scope == "family" else "blocks measured"
    derived = claim.quantity == CORE_SHIFT
    return (
        f"The mean {settings.quantities[claim.quantity].label} of the {ours} {blocks} is {size} "
        f"{side} that of the {others} {blocks} ({percent(shown.confidence)} interval of the "
        f"difference {interval}); {held_against(claim, decision)} ({p_text(p)}). "
        f"It rests on {amount(evidence.count(claim.candidate), ours, derived)} and "
        f"{amount(evidence.count(claim.reference), others, derived)}"
        f"{'' if claim.scope == 'family' else ', and holds for these blocks alone'}."
    )


def percent(confidence: float) -> str:
    """Give a confidence in per cent.

    >>> percent(0.95), percent(2 * 0.995 - 1)
    ('95%', '99%')
    """
    return f"{round(100 * confidence, 6):g}%"


def next_step(
    claim: Claim, evidence: Evidence, analysis: Analysis, found: Plan | float, settings: Settings
) -> str:
    """Write what would change a verdict: a plan for an open claim, the slack of a decided one."""
    if not isinstance(found, Plan):
        error = quantity_text(
            found, analysis.difference.standard_error, claim.unit, evidence.finest
        )
        fair = (
            ", or if the blocks measured are no fair draw of their families"
            if claim.scope == "family"
            else ""
        )
        return (
            f"The verdict would fall if the measuring of one family against the other were off by "
            f"{error} or more in the unfavourable direction{fair}."
        )
    if found.gauge_limited:
        u = analysis.shared.uncertainty
        return (
            "More blocks or readings cannot settle this: the shared uncertainty of measuring "
            f"({quantity_text(u, u, claim.unit)}) alone is too large. "
            "Calibrate the gauges on better reference pieces, or read both families with the same "
            "gauge under one calibration."
        )
    if claim.scope == "block":
        ahead = _repeats(found)
    else:
        ahead = _blocks(claim, found, settings, alike=_alike(claim, analysis, settings))
    return f"{ahead}{_as_it_stands(claim, found)}"


def remedy(code: str) -> str:
    """Write what to do about a refusal."""
    return REMEDIES.get(code, OTHERWISE)


def _repeats(found: Plan) -> str:
    if found.rounds is None:
        return f"Repeating the readings, even {MOST} times, would hardly settle this."
    return (
        f"Taking the readings {found.rounds} times in all would settle this with a chance of "
        f"{percent(POWER)}, if the difference is as estimated."
    )


def _blocks(claim: Claim, found: Plan, settings: Settings, alike: str) -> str:
    ways = ways_to_settle(claim, found, settings)
    if not ways:
        return (
            f"More blocks would hardly settle this, not even {MOST} of each: the estimate lies too "
            "near the margin. A claim with another margin could be settled."
        )
    return (
        f"If the difference is as estimated and further blocks are measured like these, this would "
        f"be settled with a chance of {percent(POWER)} by {ways}.{_assured(found)}{alike}"
    )


def _alike(claim: Claim, analysis: Analysis, settings: Settings) -> str:
    """Say that a plan takes one spread for both families where the verdict does not."""
    if not analysis.plans_alike:
        return ""
    families = (claim.candidate, claim.reference)
    number, few = min((analysis.means_of(family).size, family) for family in families)
    return f" {alike_text(number, settings.family_label(few))}"


def alike_text(number: int, label: str) -> str:
    """Say that a plan takes one spread for both families, as one has few blocks.

    >>> alike_text(1, "Trophy")[42:91]
    '1 Trophy block tells too little of its own spread'
    """
    own = "block tells too little of its" if number == 1 else "blocks tell too little of their"
    return (
        f"Both families are taken to vary alike, as {number} {label} {own} own spread to plan by; "
        "should either vary more than that, it takes more."
    )


def ways_to_settle(claim: Claim, found: Plan, settings: Settings) -> str:
    """Name the numbers of further blocks that would do; "" where none is known."""
    ours, others = (settings.family_label(family) for family in (claim.candidate, claim.reference))
    ways = []
    if found.candidate_only is not None:
        ways.append(f"{_blocks_of(found.candidate_only, ours)}")
    if found.reference_only is not None:
        ways.append(f"{_blocks_of(found.reference_only, others)}")
    if found.of_each is not None:
        ways.append(f"{found.of_each} more of each")
    return ", or ".join(ways)


def _assured(found: Plan) -> str:
    """Say what the chance comes to when the estimate itself is not taken for the truth."""
    if not math.isfinite(found.assured):
        return ""
    return (
        f" Counting in that the difference may not be as estimated, the chance with "
        f"{found.of_each} more of each is {percent(round(found.assured, 2))}."
    )


def _as_it_stands(claim: Claim, found: Plan) -> str:
    """Say what the study as measured could have shown."""
    if not math.isfinite(found.detectable):
        return ""
    size = quantity_text(found.detectable, found.detectable / 10, claim.unit)
    if claim.direction == "same":
        return f" As measured, sameness within {size} could have been shown with that chance."
    return (
        f" As measured, a true difference {size} or more from the margin would have been settled "
        "with that chance."
    )


def _blocks_of(number: int, label: str) -> str:
    return f"{number} more {label} block{'' if number == 1 else 's'}"


def amount(count: Count, label: str, derived: bool = False) -> str:
    """Say how much was measured of a family; what is derived has one value a bore."""
    blocks = f"{count.blocks} {label} block{'' if count.blocks == 1 else 's'}"
    if derived and count.bores == count.readings:
        return f"{blocks} ({count.bores} bore{'' if count.bores == 1 else 's'})"
    bores = f"{count.bores} bores, " if count.bores else ""
    readings = f"{count.readings} reading{'' if count.readings == 1 else 's'}"
    return f"{blocks} ({bores}{readings})"


def held_against(claim: Claim, decision: Decision) -> str:
    """Say how the interval lies to the margin, and what that makes of the claim."""
    margin = quantity_text(abs(claim.margin), unit=claim.unit)
    if claim.direction in ("greater", "less"):
        boundary = claim.margin if claim.direction == "greater" else 0.0 - claim.margin
        claimed = quantity_text(boundary, unit=claim.unit)
        beyond = "above" if claim.direction == "greater" else "below"
        short = "below" if claim.direction == "greater" else "above"
        where = {
            "supported": f"all of it lies {beyond} {claimed}",
            "contradicted": f"all of it lies {short} {claimed}",
            "unresolved": f"it reaches across {claimed}",
        }[decision.outcome]
    elif claim.direction == "same":
        where = {
            "supported": f"all of it lies within {margin} either way",
            "contradicted": f"all of it lies beyond {margin}",
            "unresolved": f"it does not lie within {margin} either way, nor wholly beyond",
        }[decision.outcome]
    else:
        where = {
            "supported": f"all of it lies beyond {margin}" if claim.margin else "it leaves out 0",
            "contradicted": f"all of it lies within {margin} either way",
            "unresolved": f"it reaches across {margin}"
            if claim.margin
            else "it holds 0, which leaves a difference either way open",
        }[decision.outcome]
    ends = {
        "supported": "the readings support the claim",
        "contradicted": "the readings contradict the claim",
        "unresolved": "the readings leave the claim open",
    }
    return f"{where}, so {ends[decision.outcome]}"
