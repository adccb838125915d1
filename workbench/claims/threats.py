"""What in the records could make a verdict wrong: each threat with a code and a sentence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from scipy.special import fdtrc

from workbench.castings.measuring import SharedError
from workbench.claims.analysis import Analysis
from workbench.claims.checks import disagreeing
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence, LeftOut, places_text
from workbench.claims.planning import slack
from workbench.claims.rules import Decision, Outcome
from workbench.claims.verdict import Check, Threat
from workbench.records.rounding import p_text, quantity_text
from workbench.records.settings import Settings

if TYPE_CHECKING:
    from workbench.records.intake import Records

FEW_BLOCKS = 5
UNEQUAL_BELOW = 0.05
LEFT_OUT = {
    "search": ("searched_excluded", "made at places hunted for because they are thin"),
    "doubtful": ("doubtful_excluded", "made with doubtful contact"),
    "below": (
        "censored_readings",
        "that say only that the value is not above them; the mean of the rest lies too high by an "
        "amount that is not known",
    ),
    "other_scale": (
        "other_scale",
        "on another hardness scale, which is not converted without a correlation of the study's "
        "own",
    ),
}


def threats(
    claim: Claim,
    evidence: Evidence,
    analysis: Analysis,
    checks: Sequence[Check],
    decision: Decision,
    settings: Settings,
) -> tuple[Threat, ...]:
    """List the threats to a verdict that the evidence and its analysis show."""
    found = [
        *_gauges(claim, evidence, analysis, decision, settings),
        *single_operator(claim, evidence),
        *unstated_gauges(analysis.shared),
        *_unrepeated(analysis),
    ]
    if claim.scope == "family":
        found = [
            *_blocks(claim, evidence, settings),
            *_spread(claim, analysis, settings),
            *found,
            *_fit(analysis),
            *_checks(checks, decision.outcome),
        ]
    return (*found, *excluded(evidence.left_out, settings))


def excluded(left_out: Sequence[LeftOut], settings: Settings) -> Iterator[Threat]:
    """Say what was left out of the comparison, and how much of it."""
    for reason, (code, why) in LEFT_OUT.items():
        parts = [part for part in left_out if part.reason == reason]
        if parts:
            yield Threat(code=code, text=f"Left out: {_amounts(parts, settings)} {why}.")
    parts = [part for part in left_out if part.reason == "unmatched"]
    if parts:
        places = tuple(dict.fromkeys(place for part in parts for place in part.places))
        yield Threat(
            code="unmatched_stations",
            text=f"Left out: {_amounts(parts, settings)} made at places read in one family only "
            f"({places_text(places)}).",
        )


def of_the_study(claim: Claim, records: Records, settings: Settings) -> Iterator[Threat]:
    """Say what the study as a whole holds against, or beside, any verdict on this claim."""
    if records.rejected:
        yield Threat(
            code="rejected_rows",
            text=f"{records.rejected} of the {records.rows_in} rows of the study have faults and "
            "were not used; `workbench check` lists them.",
        )
    for item in settings.remembered:
        if item.quantity == claim.quantity and item.family in (claim.candidate, claim.reference):
            yield Threat(
                code="remembered_range",
                text=f"A remembered range, drawn beside the data and without a say: "
                f"{item.low:g} to {item.high:g} {item.unit} for "
                f"{settings.family_label(item.family)} blocks ({item.who}).",
            )


def _blocks(claim: Claim, evidence: Evidence, settings: Settings) -> Iterator[Threat]:
    families = (claim.candidate, claim.reference)
    for family, other in (families, families[::-1]):
        blocks = evidence.count(family).blocks
        label, other_label = settings.family_label(family), settings.family_label(other)
        if blocks == 1:
            yield Threat(
                code="one_block",
                text=f"Only one {label} block was measured, so how much {label} blocks differ "
                f"among themselves cannot be seen. It is assumed that they differ as "
                f"{other_label} blocks do; if they differ more, the interval is too short.",
            )
        elif blocks < FEW_BLOCKS:
            yield Threat(
                code="few_blocks",
                text=f"Only {blocks} {label} blocks were measured: the interval leans on the "
                f"spread between {other_label} blocks as well, and on the {label} blocks being "
                "a fair draw of their family.",
            )


def _spread(claim: Claim, analysis: Analysis, settings: Settings) -> Iterator[Threat]:
    """Warn when an F test of the block means' variances refuses that the spreads are equal."""
    ours, others = analysis.means_of(claim.candidate), analysis.means_of(claim.reference)
    if min(len(ours), len(others)) < 2:
        return
    wide, narrow = sorted((ours, others), key=lambda means: -float(means.var(ddof=1)))
    largest, least = float(wide.var(ddof=1)), float(narrow.var(ddof=1))
    if least == 0 == largest:
        return
    ratio = largest / least if least else float("inf")
    p = min(1.0, 2 * float(fdtrc(len(wide) - 1, len(narrow) - 1, ratio)))
    if p < UNEQUAL_BELOW:
        first, second = (claim.candidate, claim.reference)
        if wide is others:
            first, second = second, first
        times = f"{ratio**0.5:.1f} times as much as" if least else "while not at all"
        yield Threat(
            code="unequal_spread",
            text=f"{settings.family_label(first)} blocks differ among themselves {times} "
            f"{settings.family_label(second)} blocks ({p_text(p)} for equal spread); the model "
            "takes one spread for both. Trust Welch's analysis, given beside it, more.",
        )


def _gauges(
    claim: Claim, evidence: Evidence, analysis: Analysis, decision: Decision, settings: Settings
) -> Iterator[Threat]:
    if analysis.gauge_confounded or gauges_apart(claim, evidence):
        yield Threat(
            code="single_gauge_each",
            text="The two families were not read with the same gauges "
            f"({gauges_of(claim, evidence, settings)}): an error of a "
            "gauge cannot be told from a difference of the families"
            f"{' beyond what its calibrations tell of it' if analysis.shared.parts else ''}"
            f"{_overturning(claim, evidence, analysis, decision)}.",
        )


def gauges_apart(claim: Claim, evidence: Evidence) -> bool:
    """Tell whether the two families were read with named gauges, none of them the same."""
    ours, others = (
        set(evidence.names(family, "gauge")) for family in (claim.candidate, claim.reference)
    )
    return "" not in ours | others and ours.isdisjoint(others)


def gauges_of(claim: Claim, evidence: Evidence, settings: Settings) -> str:
    """Name the gauges each family was read with."""
    return "; ".join(
        f"{settings.family_label(family)} by "
        + ", ".join(name or "a gauge not named" for name in evidence.names(family, "gauge"))
        for family in (claim.candidate, claim.reference)
    )


def single_operator(claim: Claim, evidence: Evidence) -> Iterator[Threat]:
    """Say that no operator read blocks of both families."""
    alone = [
        set(evidence.names(family, "operator")) for family in (claim.candidate, claim.reference)
    ]
    if all(alone) and "" not in alone[0] | alone[1] and alone[0].isdisjoint(alone[1]):
        yield Threat(
            code="single_operator_each",
            text="No operator read blocks of both families: a habit of an operator cannot be told "
            "from a difference of the families.",
        )


def unstated_gauges(shared: SharedError) -> Iterator[Threat]:
    """Say for which gauges the study states no uncertainty."""
    if shared.unstated == ("",):
        yield Threat(
            code="no_gauge_uncertainty",
            text="The readings name no gauge, so nothing is known of the error of measuring; "
            "nothing was added for it.",
        )
    elif shared.unstated:
        but = (
            "a steady error of it cancels in this difference, one that grows with the reading "
            "does not"
            if shared.cancels
            else "nothing was added for it, so the interval may be too short"
        )
        named = ", ".join(name or "readings without a named gauge" for name in shared.unstated)
        yield Threat(
            code="no_gauge_uncertainty",
            text=f"The study states no measuring uncertainty for {named}; {but}.",
        )


def _overturning(claim: Claim, evidence: Evidence, analysis: Analysis, decision: Decision) -> str:
    """Say how large a bias between the families would overturn a decided verdict."""
    if decision.outcome == "unresolved":
        return ""
    bias = slack(decision, claim.direction, claim.margin)
    error = analysis.difference.standard_error
    size = quantity_text(bias, error, claim.unit, evidence.finest)
    return f"; a bias of {size} of one against the other would overturn the verdict"


def _unrepeated(analysis: Analysis) -> Iterator[Threat]:
    """Say that the error of a reading is what was stated, for nothing shows it."""
    if analysis.error_stated:
        yield Threat(
            code="error_stated",
            text="No reading was repeated, so nothing shows how readings of these blocks scatter. "
            "Each is taken to be off on its own by what the study states for its gauge, or by what "
            "the gauge scattered on reference pieces.",
        )


def _fit(analysis: Analysis) -> Iterator[Threat]:
    for level in analysis.boundary:
        yield Threat(
            code="boundary_variance",
            text=f"The spread between {level}s beyond that of the readings is estimated at zero; "
            "it may be small without being zero.",
        )
    if "bore" in analysis.merged:
        yield Threat(
            code="merged_levels",
            text="The spread between bores cannot be told from that between blocks or readings, "
            "because each block has one bore or each bore one reading; it is counted there.",
        )


def _checks(checks: Sequence[Check], outcome: Outcome) -> Iterator[Threat]:
    others = disagreeing(checks, outcome)
    if others:
        said = ", ".join(
            f"{check.name}: {check.outcome} ({p_text(check.p_value)})" for check in others
        )
        yield Threat(
            code="checks_disagree",
            text=f"Another analysis of the same readings comes to another outcome ({said}); the "
            "verdict depends on the choice of analysis.",
        )


def _amounts(parts: Sequence[LeftOut], settings: Settings) -> str:
    return " and ".join(
        f"{part.readings} {settings.family_label(part.family)} reading"
        f"{'' if part.readings == 1 else 's'}"
        for part in parts
    )
