"""What a claim's page shows of what its verdict rests on: blocks, places, spreads, what is odd."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.figures.rests_on import rests_on
from workbench.article.scrutiny_tables import (
    odd_table,
    places_table,
    predicted_table,
    spreads_table,
    without_table,
)
from workbench.castings.inspection import CORE_SHIFT
from workbench.claims.analysis import analyse
from workbench.claims.claim import Ledger
from workbench.claims.evidence import gather
from workbench.claims.judge import Bench
from workbench.claims.model_checks import family_spreads, model_checks
from workbench.claims.one_block import without_each_block
from workbench.claims.place_by_place import place_by_place, places_of
from workbench.claims.printed_families import rests_on_print
from workbench.errors import Refusal

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.article.tables import Table
    from workbench.claims.analysis import Analysis
    from workbench.claims.claim import Claim
    from workbench.claims.verdict import Verdict
    from workbench.study import Study

UNEVEN_BELOW = 0.05
TITLE = "What it rests on"
OTHERS = (
    "This is told of claims on the mean or the spread of families that were both read. What "
    "another verdict rests on stands among its warnings."
)


def scrutiny(
    study: Study, verdict: Verdict, *, seed: int, footer: str = ""
) -> Iterator[Table | Picture | Answer]:
    """Show whether a verdict rests on one block or one place, and how its readings scatter.

    The figure is drawn where a single block changes the verdict, or the places differ.
    """
    claim = next((one for one in study.ledger.claims if one.id == verdict.claim), None)
    if claim is None or not verdict.has_numbers or _elsewhere(study, claim):
        yield Answer(paragraphs=((TITLE, OTHERS if verdict.has_numbers else verdict.sentence),))
        return
    confidence = study.settings.confidence
    try:
        analysis = _analysis(study, claim, seed)
        if claim.figure == "spread":
            found = family_spreads(analysis, confidence, seed=seed)
            yield spreads_table(verdict, found, study.settings)
            return
        yield from _of_mean(study, verdict, claim, analysis, footer)
    except Refusal as refusal:
        yield Answer(paragraphs=((TITLE, str(refusal)),))


def _analysis(study: Study, claim: Claim, seed: int) -> Analysis:
    """Make the analysis of a claim again, core shifts derived where they are asked for."""
    if claim.quantity == CORE_SHIFT:
        bench = Bench(Ledger(entries=(claim,)), study.records, study.settings, seed=seed)
        return bench.analysis_of(claim, bench.evidence_of(claim))
    evidence = gather(
        study.records.cells,
        quantity=claim.quantity,
        candidate=claim.candidate,
        reference=claim.reference,
        unit=claim.unit,
        calibrations=study.calibrations,
    )
    return analyse(evidence, study.settings.gauges, claim.scope, asked=claim.analysis)


def _elsewhere(study: Study, claim: Claim) -> bool:
    return (
        claim.scope != "family"
        or claim.figure not in ("mean", "spread")
        or study.settings.quantities[claim.quantity].kind == "feature"
        or rests_on_print(claim, study.records.cells, study.settings)
    )


def _of_mean(
    study: Study, verdict: Verdict, claim: Claim, analysis: Analysis, footer: str
) -> Iterator[Table | Picture]:
    settings, confidence = study.settings, study.settings.confidence
    blocks = without_each_block(claim, analysis, confidence)
    places = [place_by_place(analysis, by, confidence) for by in places_of(analysis)]
    if blocks.deciding or any(of.p_value < UNEVEN_BELOW for of in places):
        yield rests_on(verdict, blocks, places, settings, footer=footer)
    yield without_table(verdict, blocks, settings)
    if places:
        yield places_table(verdict, places)
    checks = model_checks(analysis)
    if checks.levels:
        yield odd_table(verdict, checks.levels, settings)
    if checks.predicted:
        yield predicted_table(verdict, checks.predicted, settings)
