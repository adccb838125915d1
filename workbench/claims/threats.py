"""What in the records could make a verdict wrong: each threat with a code and a sentence."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from workbench.castings.measuring import SharedError
from workbench.claims.analysis import Analysis
from workbench.claims.checks import disagreeing
from workbench.claims.choosing import OWN_FROM, compare_spreads
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence, LeftOut, places_text
from workbench.claims.figure_sentences import share_text
from workbench.claims.planning import slack
from workbench.claims.remembered import remembered_ranges
from workbench.claims.rules import Decision, Outcome
from workbench.claims.sentences import percent
from workbench.claims.truncation import truncation_threats
from workbench.claims.verdict import Check, Threat
from workbench.errors import Refusal
from workbench.records.rounding import p_text, quantity_text
from workbench.records.settings import Settings

if TYPE_CHECKING:
    from workbench.records.intake import Records

UNEQUAL_BELOW = 0.05
LEAST_SHARE = 0.001  # and as little short of all: not told finer
MISSED = {2: 18, 3: 12, 4: 9}  # at worst, by simulation; the table is in DEVELOPERS.md
LEFT_OUT = {
    "search": ("searched_excluded", "made at places hunted for because they are thin"),
    "doubtful": ("doubtful_excluded", "made with doubtful contact"),
    "below": (
        "censored_readings",
        "written with “<” or at the lower limit of their gauge, known only to be not above it; "
        "what is left lies too high",
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
            *number_of_blocks(claim, evidence, analysis, settings),
            *_spread(claim, analysis, settings),
            *found,
            *_fit(analysis, settings),
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


def of_the_study(
    claim: Claim, records: Records, settings: Settings, evidence: Evidence | None = None
) -> Iterator[Threat]:
    """Say what the study as a whole holds against, or beside, any verdict on this claim."""
    if records.rejected:
        yield Threat(
            code="rejected_rows",
            text=f"{records.rejected} of the {records.rows_in} rows of the study have faults and "
            "were not used; “workbench check” lists them.",
        )
    yield from truncation_threats(claim, settings, evidence)
    yield from remembered_ranges(claim, evidence, settings)


def number_of_blocks(
    claim: Claim, evidence: Evidence, analysis: Analysis, settings: Settings
) -> Iterator[Threat]:
    """Say what one block, or a few, leave open, with how often such designs raise a false alarm."""
    families = (claim.candidate, claim.reference)
    for family, other in (families, families[::-1]):
        blocks = evidence.count(family).blocks
        label, other_label = settings.family_label(family), settings.family_label(other)
        if blocks == 1:
            told = _one(analysis, family, other, other_label, settings.confidence)
            yield Threat(
                code="one_block",
                text=f"Only one {label} block was measured, so how much {label} blocks differ "
                f"among themselves cannot be seen. It is assumed that they differ as "
                f"{other_label} blocks do; if they differ more, the interval is too short{told}",
            )
        elif blocks < OWN_FROM:
            yield Threat(code="few_blocks", text=f"{_few(blocks, label, other_label, analysis)}.")


def _one(analysis: Analysis, family: str, other: str, label: str, confidence: float) -> str:
    """Say what one block may cost, and where it lies among those of the other family."""
    from workbench.inference.means.single_case import single_case

    (one,) = analysis.means_of(family)
    try:
        case = single_case(float(one), analysis.means_of(other))
    except Refusal:  # the other family shows no spread either
        return "."
    twice, thrice = (f"{100 * case.missed(times, confidence):.0f}" for times in (2, 3))
    promised = round(100 * (1 - confidence), 6)
    ends = case.share_below_interval(confidence)
    error = (ends.high - ends.low) / 4
    middle, low, high = (_share(at, error) for at in (case.share_below, ends.low, ends.high))
    cost = (
        ""
        if analysis.choice.asked
        else f": {percent(confidence)} intervals miss the truth up to {twice} times in 100 if they "
        f"vary twice as much, {thrice} if three times, instead of {promised:g}"
    )
    return (
        f"{cost}. Of the block itself the readings say that it lies above {middle} of {label} "
        f"blocks ({percent(confidence)} interval {low} to {high})."
    )


def _share(share: float, error: float) -> str:
    """Give an estimated share in per cent; none and all are not estimated."""
    if share < LEAST_SHARE:
        return "less than 0.1%"
    if share > 1 - LEAST_SHARE:
        return "more than 99.9%"
    return share_text(share, min(error, share, 1 - share))


def _few(blocks: int, label: str, other: str, analysis: Analysis) -> str:
    """Say what few blocks of a family leave to trust, and what that may cost."""
    leans = (
        f"the interval rests on their own spread, which {blocks} blocks tell poorly"
        if analysis.own
        else f"the interval leans on the spread between {other} blocks as well"
    )
    cost = (
        ""
        if analysis.choice.asked
        else f" Should they really vary two or three times as much as {other} blocks, 95% "
        f"intervals miss the truth about {MISSED[blocks]} times in 100 instead of 5"
    )
    return (
        f"Only {blocks} {label} blocks were measured: {leans}, and on the {label} blocks being a "
        f"fair draw of their family{'.' if cost else ''}{cost}"
    )


def _spread(claim: Claim, analysis: Analysis, settings: Settings) -> Iterator[Threat]:
    """Warn when an F test of the block means' variances refuses that the spreads are equal."""
    families = (claim.candidate, claim.reference)
    found = compare_spreads(*map(analysis.means_of, families))
    if found is None or found.p_value >= UNEQUAL_BELOW:
        return
    first, second = (settings.family_label(families[at]) for at in (found.wider, 1 - found.wider))
    times = "while not at all" if math.isinf(found.times) else f"{found.times:.1f} times as much as"
    but = (
        "each family is judged by its own spread, yet a difference of means then says less of "
        "single blocks"
        if analysis.own
        else "the model takes one spread for both. Trust the analysis with own spreads, given "
        "beside it, more"
    )
    yield Threat(
        code="unequal_spread",
        text=f"{first} blocks differ among themselves {times} {second} blocks "
        f"({p_text(found.p_value)} for equal spread); {but}.",
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


def _fit(analysis: Analysis, settings: Settings) -> Iterator[Threat]:
    for component in analysis.boundary:
        level, of, family = component.partition(" of ")
        whose = f" of {settings.family_label(family)}" if of else ""
        yield Threat(
            code="boundary_variance",
            text=f"The spread between {level}s{whose} beyond that of the readings is estimated at "
            "zero; it may be small without being zero.",
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
