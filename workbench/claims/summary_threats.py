"""What could make a verdict that rests on print wrong, and what is printed beside readings."""

from __future__ import annotations

from collections.abc import Iterator

from workbench.claims.choosing import OWN_FROM
from workbench.claims.claim import Claim
from workbench.claims.printed_families import PrintedFamily, ReadFamily, printed_of
from workbench.claims.summary_analysis import SummaryAnalysis
from workbench.claims.summary_claims import SummaryFound
from workbench.claims.threats import excluded, unstated_gauges
from workbench.claims.verdict import Threat
from workbench.inference.means.welch import Summary
from workbench.records.notice import quoted
from workbench.records.rounding import p_text, quantity_text
from workbench.records.settings import Settings

SCATTERED = 0.05
FEW_SOURCES = 5


def summary_threats(claim: Claim, found: SummaryFound, settings: Settings) -> Iterator[Threat]:
    """Say what could make a verdict that rests on print wrong."""
    analysis = found.analysis
    for family in analysis.families:
        label = settings.family_label(family.family)
        if isinstance(family, PrintedFamily):
            lines = "; ".join(
                f"{name}: {summary.n} blocks, mean {_text(summary.mean, summary, claim)}, standard "
                f"deviation {_text(summary.sd, summary, claim)}"
                for name, summary in zip(family.sources, family.summaries, strict=True)
            )
            yield Threat(
                code="printed_summary",
                text=f"{label} blocks are known only from print ({lines}). At which places, with "
                "what gauge and under which calibration they were read is not known, so like may "
                "not be compared with like, and no reading can be looked at again.",
            )
        elif family.blocks < OWN_FROM:
            yield Threat(
                code="one_block" if family.blocks == 1 else "few_blocks",
                text=f"Only {family.blocks} {label} block{'' if family.blocks == 1 else 's'} "
                "measured: "
                + (
                    "how they differ among themselves is taken to be as in the other family."
                    if family.blocks == 1
                    else "so few show little of how they differ, and are taken to be a fair draw."
                ),
            )
    if not analysis.measuring and not all(
        isinstance(family, ReadFamily) for family in analysis.families
    ):
        yield Threat(
            code="no_gauge_uncertainty",
            text="No source states the uncertainty of its measuring; nothing was added for it, so "
            "the interval may be too short.",
        )
    yield from _sources(claim, analysis, settings)
    others = [
        check for check in found.checks if check.outcome not in (None, found.decision.outcome)
    ]
    if others:
        said = ", ".join(f"{one.name}: {one.outcome} ({p_text(one.p_value)})" for one in others)
        yield Threat(
            code="checks_disagree",
            text=f"Another analysis of the same numbers comes to another outcome ({said}); the "
            "verdict depends on the choice of analysis.",
        )
    for family in analysis.families:
        if isinstance(family, ReadFamily):
            yield from unstated_gauges(family.shared)
            yield from excluded(family.evidence.left_out, settings)


def _text(value: float, summary: Summary, claim: Claim) -> str:
    """Give a printed number to a tenth of the deviation printed with it."""
    return quantity_text(value, summary.sd, claim.unit)


def _sources(claim: Claim, analysis: SummaryAnalysis, settings: Settings) -> Iterator[Threat]:
    """Say how several sources of one figure bear on the verdict."""
    for scatter in analysis.scatter:
        of = settings.family_label(scatter.of)
        if scatter.p_value < SCATTERED:
            yield Threat(
                code="sources_differ",
                text=f"The {scatter.sources} sources of {of} differ by more than their own errors "
                f"say ({p_text(scatter.p_value)}; {100 * scatter.inconsistency:.0f}% of their "
                "scatter lies between them): they may not have measured the same thing alike.",
            )
        if scatter.sources < FEW_SOURCES:
            yield Threat(
                code="few_sources",
                text=f"Only {scatter.sources} sources tell of {of}: how far sources scatter is "
                "hardly known, and the interval is wide for it.",
            )
    if analysis.unused:
        yield Threat(
            code="sources_left_out",
            text=f"Left out, because they print one family only while others print both: "
            f"{quoted(analysis.unused)}.",
        )
    if claim.figure == "spread" and any(
        isinstance(family, PrintedFamily) and len(family.sources) > 1
        for family in analysis.families
    ):
        yield Threat(
            code="common_spread",
            text="Blocks are taken to spread alike within all sources of a family.",
        )


def printed_beside(claim: Claim, settings: Settings) -> Iterator[Threat]:
    """Say what is printed of a family that has readings of its own, which alone decide."""
    for family in (claim.candidate, claim.reference):
        for item in printed_of(settings, claim.quantity, family):
            yield Threat(
                code="printed_beside",
                text=f"Printed of {settings.family_label(family)} blocks, and not counted because "
                f"the study has readings of its own: {item.n} blocks, mean {item.mean:g} "
                f"{item.unit}, standard deviation {item.sd:g} {item.unit} ({item.source}).",
            )
