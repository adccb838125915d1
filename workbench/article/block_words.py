"""What is said of one block in words: outcomes, percentiles, risks, room for boring."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from workbench.article.numbers import percent
from workbench.article.text import counted
from workbench.records.rounding import number_text, quantity_text

if TYPE_CHECKING:
    from workbench.castings.block_report import BlockReport
    from workbench.castings.bores.boring import BoringAllowance
    from workbench.castings.bores.wall_limits import WallLimits
    from workbench.castings.fitness import RuleOutcome
    from workbench.inference.directions.offset_program import Offset
    from workbench.inference.directions.vector import VectorEstimate
    from workbench.records.settings import Settings

OUTCOMES = {
    "fit": "fit",
    "not_fit": "not fit",
    "too_close": "too close to call",
    "not_answered": "not answered",
}
FITS = {"fits": "fits", "does_not_fit": "does not fit", "too_close": "too close to call"}
PATTERNS = {
    "together": "The bores lie off centre alike: the core moved as a whole.",
    "together and apart": (
        "The bores lie off centre one way on the whole, and differ from one another besides."
    ),
    "apart": "The bores lie off centre each its own way; no common shift is shown.",
    "not shown": "No core shift is shown beyond what measuring could make up.",
}
SURE = 0.001
FEWEST_DECIMALS = {"mm": 2, "in": 4}


def percentile_text(value: float) -> str:
    """Give a percentile without false digits: one decimal near the ends.

    >>> percentile_text(48.2), percentile_text(0.69), percentile_text(99.97)
    ('48', '0.7', 'above 99.9')
    """
    if value < 0.1:
        return "below 0.1"
    if value > 99.9:
        return "above 99.9"
    return number_text(value, 0 if 1 <= value <= 99 else 1)


def chance_text(chance: float) -> str:
    """Give a chance in per cent.

    >>> chance_text(0.51), chance_text(0.0), chance_text(0.0123), chance_text(1.0)
    ('51%', 'below 0.1%', '1.2%', 'above 99.9%')
    """
    if math.isnan(chance):
        return ""
    if chance < SURE:
        return "below 0.1%"
    if chance > 1 - SURE:
        return "above 99.9%"
    return f"{number_text(100 * chance, 0 if 0.1 <= chance <= 0.9 else 1)}%"


def rule_text(rule: str) -> str:
    """Give a rule as it is called.

    >>> rule_text("least_wall, thrust_sides")
    'least wall, thrust sides'
    """
    return rule.replace("_", " ")


def limit_text(rule: RuleOutcome) -> str:
    """Give the limit or band of a rule."""
    if rule.conformity is None:
        return ""
    low, high = rule.conformity.limits.lower, rule.conformity.limits.upper
    if math.isinf(high):
        return f"{low:g} {rule.unit} or more"
    if math.isinf(low):
        return f"{high:g} {rule.unit} or less"
    return f"{low:g} to {high:g} {rule.unit}"


def room_text(overbore: float, unit: str) -> str:
    """Give the largest overbore, rounded down; below 0 by how much the wall is short.

    >>> room_text(0.5679, "mm"), room_text(-0.2376, "mm")
    ('0.56 mm', 'none: wall short by 0.12 mm')
    """
    decimals = FEWEST_DECIMALS.get(unit, 2)
    grain = 10.0**decimals
    if overbore < 0:
        return f"none: wall short by {number_text(-overbore / 2, decimals)} {unit}"
    return f"{number_text(math.floor(overbore * grain + 1e-9) / grain, decimals)} {unit}"


def offset_text(offset: Offset, unit: str) -> str:
    """Give how far and which way a centre is moved."""
    decimals = FEWEST_DECIMALS.get(unit, 2)
    if offset.size < 0.5 * 10.0**-decimals:
        return "none"
    return f"{number_text(offset.size, decimals)} {unit} to {direction_text(offset.direction)}"


def direction_text(degrees: float) -> str:
    """Give a direction in whole degrees.

    >>> direction_text(359.7)
    '0°'
    """
    return f"{round(degrees) % 360}°"


def shift_text(shift: VectorEstimate | None, unit: str, confidence: float) -> str:
    """Give the size of a shift with the interval of its joint region."""
    if shift is None:
        return "not known"
    ends = shift.size_interval(confidence)
    u = shift.size_standard_error
    size = quantity_text(shift.size, u, "")
    return f"{size} ({quantity_text(ends.low, u)} to {quantity_text(ends.high, u)}) {unit}"


def towards_text(shift: VectorEstimate | None, confidence: float) -> str:
    """Give the direction of a shift where its readings determine it."""
    if shift is None:
        return ""
    ends = shift.direction_interval(confidence)
    if ends is None:
        return "no clear direction"
    half = (ends.high - ends.low) / 2
    return f"{direction_text(shift.direction)} ± {half:.0f}°"


def unusual_words(report: BlockReport) -> str:
    """Say what is unusual about a block, many figures allowed for."""
    found = report.placed.unusual(report.confidence)
    asked = counted(len(report.placed.figures), "figure")
    if not report.placed.figures:
        return "No figure of this block could be placed in its family."
    if not found:
        return (
            f"Nothing about this block is unusual for its family: {asked} compared, each allowed "
            f"for the others, at {percent(report.confidence)}."
        )
    said = ", ".join(
        f"{one.label} ({'above' if one.value > one.case.family.mean else 'below'} the family's "
        f"usual range)"
        for one in found
    )
    return f"Unusual for its family: {said} ({asked} compared, each allowed for the others)."


def shift_words(report: BlockReport) -> str:
    """Say what the bores of a block did together."""
    if report.shift is None:
        return ""
    whole = report.shift.as_measured
    return (
        f"{PATTERNS[report.shift.pattern(report.confidence)]} Mean shift of its bores "
        f"{shift_text(whole, report.unit, report.confidence)}, towards "
        f"{direction_text(whole.direction)}."
    )


def kept_text(limits: WallLimits) -> str:
    """Give the wall that must stay; from the least to the greatest where sides differ.

    A side that nothing is asked of is left out.
    """
    ends = sorted({wall for wall in (limits.everywhere, *limits.at.values()) if wall > -math.inf})
    least, most = f"{ends[0]:g}", f"{ends[-1]:g} {limits.unit}"
    return most if len(ends) == 1 else f"{least} to {most}"


def boring_words(found: BoringAllowance, confidence: float) -> str:
    """Say the largest overbore of all bores alike."""
    said = f"{kept_text(found.limits)} of wall"
    if found.limits.at:
        said += ", as each side asks,"
    if found.one_size < 0:
        return (
            f"No bore can be cut and {said} be kept everywhere with {percent(confidence)} "
            f"confidence: bore {found.limiting} limits it."
        )
    return (
        f"All bores can go {room_text(found.one_size, found.unit)} over (on the diameter) and keep "
        f"{said} everywhere with {percent(confidence)} confidence; bore {found.limiting} limits it."
    )


def family_words(report: BlockReport, settings: Settings) -> str:
    """Name a block with its family and how many others of it were read."""
    counts = [one.case.family.n for one in report.placed.figures]
    others = counted(max(counts), "other block") if counts else "no other block"
    return f"{report.block}, {settings.family_label(report.family)} ({others} of it read)"
