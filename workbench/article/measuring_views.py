"""What the notebook of the measuring side shows, section by section."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from workbench.article.answer import Answer
from workbench.article.feature_tables import features_table
from workbench.article.figures.budget_shares import budget_shares
from workbench.article.figures.calibration import calibration
from workbench.article.figures.gauge_agreement import gauge_agreement
from workbench.article.gathering import gathered
from workbench.article.gauge_tables import agreements_table, gauge_study_table, no_study_table
from workbench.article.hardness_tables import impressions_table, tensile_table
from workbench.article.left_out_tables import censored_table, struck_out_table
from workbench.article.limit_tables import limit_risks_table, limits_table
from workbench.article.measuring_tables import (
    budget_table,
    calibrations_table,
    contrasts_table,
    refused_budgets_table,
)
from workbench.castings.calibration_use import calibration_uses
from workbench.castings.censored_means import censored_means
from workbench.castings.gauge_agreement import recorded_agreements
from workbench.castings.gauge_studies import recorded_studies
from workbench.castings.impressions import impression_spreads
from workbench.castings.observers import feature_agreements, feature_shares
from workbench.castings.reading_budget import drawn
from workbench.castings.repeated_places import repeated_readings
from workbench.castings.struck_out import fates
from workbench.castings.study_budgets import study_budgets
from workbench.castings.walls_at_limits import walls_at_limits
from workbench.claims.contrast_budget import contrast_budget
from workbench.errors import Refusal
from workbench.records.faults import FaultsError

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.article.tables import Table
    from workbench.study import Study

HARDNESS, BRINELL = "hardness", "HB"
MOST_DRAWN = 3  # calibrations, and pairs of gauges


def what_was_struck_out(study: Study) -> Iterator[Table]:
    """Give what became of every row, and the means of families with censored readings."""
    given = (study.records, study.settings, study.calibrations)
    yield struck_out_table(fates(*given), study.records.rows_in)
    censored = censored_means(*given)
    if censored:
        yield censored_table(censored, study.settings)


def calibrations_shown(study: Study, footer: str) -> Iterator[Table | Picture]:
    """Give the table of all calibrations, and a figure of those that correct most readings."""
    rows, known = study.records.calibrations, study.calibrations
    yield calibrations_table(known)
    drawn_of = 0
    for use in calibration_uses(study.records, known):
        pieces = rows[rows["calibration"] == use.name]
        if len(pieces) and drawn_of < MOST_DRAWN:
            drawn_of += 1
            found = known.by_name[use.name]
            yield calibration(found, pieces, (use.low, use.high), footer=footer)


def budgets_shown(study: Study, seed: int, footer: str) -> Iterator[Table | Picture]:
    """Give the example budgets as tables and figures, and what measuring leaves in each claim."""
    confidence = study.settings.confidence
    found = study_budgets(study.records, study.settings, study.calibrations)
    for quantity, budgets in found.budgets.items():
        generator = np.random.default_rng(seed)
        contrast = contrast_budget(
            quantity, study.ledger, study.records, study.settings, study.calibrations
        )
        shown = budgets if contrast is None else (*budgets, contrast)
        for measured in shown:
            yield budget_table(measured, confidence, drawn(measured, confidence, generator))
        yield budget_shares(shown, footer=footer)
    if found.refused:
        yield refused_budgets_table(found.refused, study.settings)
    if study.ledger.entries:
        yield contrasts_table(study.judge(seed=seed))


def gauges_shown(study: Study, footer: str) -> Iterator[Table | Picture]:
    """Give the gauge studies, the scatter of hardness readings, gauges and eyes compared."""
    repeated = repeated_readings(study.records, study.settings, study.calibrations)
    studies = recorded_studies(repeated, study.settings)
    for found in studies:
        if found.study is not None:
            yield gauge_study_table(found, study.settings)
    if any(found.study is None for found in studies):
        yield no_study_table([of for of in studies if of.study is None], study.settings)
    yield from hardness_shown(study)
    compared = recorded_agreements(repeated, study.settings)
    yield agreements_table(compared, study.settings)
    of_gauges = [pair for pair in compared if pair.found is not None and pair.factor == "gauge"]
    for pair in of_gauges[:MOST_DRAWN]:
        yield gauge_agreement(pair, study.settings, footer=footer)
    yield from features_shown(study)


def hardness_shown(study: Study) -> Iterator[Table]:
    """Give the scatter of hardness readings, and the strengths Brinell hardness may stand for."""
    yield impressions_table(impression_spreads(study.records.cells, study.settings), study.settings)
    try:
        sample = gathered(study, HARDNESS)
    except Refusal:  # no reading of it may enter a mean
        return
    if sample.unit == BRINELL:
        yield tensile_table(sample)


def limits_shown(study: Study) -> Iterator[Table | Answer]:
    """Give the walls of every block against the least wall of each duty stated, and the risks."""
    try:
        found = walls_at_limits(study.records, study.settings, study.calibrations)
    except (Refusal, FaultsError) as refusal:
        yield Answer(paragraphs=(("Not held against the limits of the duties", str(refusal)),))
        return
    yield limits_table(found, study.settings)
    if any(of.families for of in found):
        yield limit_risks_table(found, study.settings)


def features_shown(study: Study) -> Iterator[Table]:
    """Give the features seen by eye, where the study declares any."""
    seen = feature_agreements(study.records.cells, study.settings)
    if seen:
        shares = feature_shares(study.records.cells, study.settings)
        yield features_table(shares, seen, study.settings)
