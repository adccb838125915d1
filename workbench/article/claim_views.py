"""What a claim is of, drawn: readings, and for other figures than the mean what was compared."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from workbench.article.answer import Answer
from workbench.article.claim_readings import claim_readings
from workbench.article.family_values import FamilyValues
from workbench.article.figures.block_spread import block_spread
from workbench.article.figures.least_places import least_places
from workbench.article.figures.printed_means import MeanRow, printed_means
from workbench.article.figures.share_curves import FamilyShare, share_curves
from workbench.article.gathering import remembered_of
from workbench.article.names import family_order, quantity_label
from workbench.castings.inspection import CORE_SHIFT
from workbench.claims.evidence import SEPARATOR, Evidence, gather
from workbench.claims.figure_claims import analyse_figure, hunted_readings
from workbench.claims.footing import as_one_gauge, block_means, common_means
from workbench.claims.printed_families import ReadFamily, known_family, rests_on_print
from workbench.claims.share_claims import units_of
from workbench.errors import Refusal
from workbench.inference.means.intervals import mean_interval
from workbench.inference.means.welch import Summary
from workbench.inference.results import Interval

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.claims.claim import Claim
    from workbench.claims.figure_analysis import FamilyFigure, FigureAnalysis
    from workbench.claims.verdict import Verdict
    from workbench.study import Study

FINEST_PRINTED = 0.1  # of a printed deviation


def claim_shown(
    study: Study, verdict: Verdict, *, seed: int, footer: str = ""
) -> Iterator[Picture | Answer]:
    """Draw what a claim rests on: its readings, and what its figure makes of them."""
    claim = next((one for one in study.ledger.claims if one.id == verdict.claim), None)
    if claim is None or study.settings.quantities[claim.quantity].kind == "feature":
        yield claim_readings(study, verdict, footer=footer)
        return
    try:
        if rests_on_print(claim, study.records.cells, study.settings):
            yield printed(study, claim, footer)
            return
        yield claim_readings(study, verdict, footer=footer)
        if claim.figure != "mean" and claim.quantity != CORE_SHIFT:
            yield compared(study, claim, seed, footer)
    except Refusal as refusal:
        yield Answer(paragraphs=(("Nothing to draw", str(refusal)),))


def compared(study: Study, claim: Claim, seed: int, footer: str) -> Picture:
    """Draw what was compared: block means, least places, or shares below.

    Raises
    ------
    Refusal
        What the analysis of the claim refuses.
    """
    evidence = gather(
        study.records.cells,
        quantity=claim.quantity,
        candidate=claim.candidate,
        reference=claim.reference,
        unit=claim.unit,
        calibrations=study.calibrations,
    )
    analysis = analyse_figure(
        claim, evidence, study.records.cells, study.settings, [seed, *claim.id.encode()]
    )
    label = quantity_label(study.settings, claim.quantity)
    labels = study.settings.family_labels(study.records.blocks["family"])
    if claim.figure == "spread":
        return block_spread(
            spreads(study, evidence, analysis),
            label,
            claim.unit,
            confidence=study.settings.confidence,
            finest=evidence.finest,
            labels=labels,
            footer=footer,
        )
    if claim.figure == "thinnest":
        return least_places(
            minima(study, claim, evidence, analysis),
            label,
            claim.unit,
            grid=analysis.words,
            expected=claim.scope == "family",
            confidence=study.settings.confidence,
            finest=evidence.finest,
            labels=labels,
            footer=footer,
        )
    assert claim.threshold is not None
    return share_curves(
        shares(study, claim, analysis),
        label,
        claim.unit,
        limit=claim.threshold,
        of=claim.of,
        confidence=study.settings.confidence,
        labels=labels,
        footer=footer,
    )


def spreads(study: Study, evidence: Evidence, analysis: FigureAnalysis) -> list[FamilyValues]:
    """Give the block means of both families, on the footing they were compared on."""
    means = block_means(common_means(as_one_gauge(evidence)))
    return [
        FamilyValues(
            family=one.family,
            label=study.settings.family_label(one.family),
            blocks=tuple(_bare(mine["block"])),
            numbers=mine["mean"].to_numpy(float),
            value=one.value,
            interval=one.interval,
        )
        for one in in_order(study, analysis)
        for mine in [means[means["family"] == one.family]]
    ]


def minima(
    study: Study, claim: Claim, evidence: Evidence, analysis: FigureAnalysis
) -> list[FamilyValues]:
    """Give each whole block's least reading, and what readings hunted for lower it to."""
    assert analysis.grid is not None
    hunted = hunted_readings(claim, evidence, study.records.cells).groupby("block")["mean"].min()
    found = []
    for one in in_order(study, analysis):
        least = analysis.grid.least(one.family)
        lower = hunted.reindex(least.index).to_numpy(float)
        with np.errstate(invalid="ignore"):
            lowered = lower[lower < least.to_numpy(float)]
        found.append(
            FamilyValues(
                family=one.family,
                label=study.settings.family_label(one.family),
                blocks=tuple(_bare(least.index)),
                numbers=np.asarray(least, dtype=float),
                value=one.value,
                interval=one.interval,
                lowered=lowered if lowered.size else None,
            )
        )
    return found


def shares(study: Study, claim: Claim, analysis: FigureAnalysis) -> list[FamilyShare]:
    """Give the values whose shares were counted, blocks weighing alike."""
    assert analysis.grid is not None
    units = units_of(analysis.grid, claim.of)
    found = []
    for one in in_order(study, analysis):
        mine = units[units["family"] == one.family].sort_values("value")
        of_block = mine.groupby("block")["value"].transform("size").to_numpy(float)
        found.append(
            FamilyShare(
                family=one.family,
                label=study.settings.family_label(one.family),
                blocks=mine["block"].nunique(),
                numbers=mine["value"].to_numpy(float),
                weights=1 / (of_block * mine["block"].nunique()),
                share=one.value,
                interval=one.interval,
            )
        )
    return found


def in_order(study: Study, analysis: FigureAnalysis) -> list[FamilyFigure]:
    """Give the figures of both families in the order, and so with the marks, of all figures."""
    order = family_order(study.settings, [one.family for one in analysis.families])
    return sorted(analysis.families, key=lambda one: order.index(one.family))


def printed(study: Study, claim: Claim, footer: str) -> Picture:
    """Draw what is printed of either family, beside what was read.

    Raises
    ------
    Refusal
        `no_readings` where a family is known neither way; `unit_mismatch`.
    """
    settings = study.settings
    rows = []
    for family in (claim.candidate, claim.reference):
        known = known_family(claim, family, study.records.cells, settings, study.calibrations)
        label = settings.family_label(family)
        if isinstance(known, ReadFamily):
            rows.append(_read_row(known, label, settings.confidence))
            continue
        for source, summary in zip(known.sources, known.summaries, strict=True):
            rows.append(
                MeanRow(
                    family=family,
                    label=label,
                    source=source,
                    n=summary.n,
                    mean=summary.mean,
                    sd=summary.sd,
                    interval=_interval(summary, settings.confidence),
                )
            )
    said = remembered_of(settings, claim.quantity, claim.unit)
    return printed_means(
        rows,
        [one for one in said if one.family in (claim.candidate, claim.reference)],
        quantity_label(settings, claim.quantity),
        claim.unit,
        confidence=settings.confidence,
        finest=FINEST_PRINTED * min(row.sd for row in rows if row.sd > 0),
        labels=settings.family_labels(study.records.blocks["family"]),
        footer=footer,
    )


def _read_row(known: ReadFamily, label: str, confidence: float) -> MeanRow:
    several = known.blocks > 1
    summary = Summary.of(known.means) if several else None
    return MeanRow(
        family=known.family,
        label=label,
        source="readings of this study",
        n=known.blocks,
        mean=float(known.means.mean()),
        sd=summary.sd if summary else 0.0,
        interval=_interval(summary, confidence) if summary else None,
        blocks=known.means,
    )


def _interval(summary: Summary, confidence: float) -> Interval:
    found = mean_interval(summary, confidence)
    return Interval(low=found.low, high=found.high, confidence=confidence)


def _bare(blocks: object) -> list[str]:
    """Give block names without the family that tells namesakes apart."""
    return [str(name).rpartition(SEPARATOR)[2] for name in blocks]  # type: ignore[attr-defined]
