"""What the notebook of the measuring side shows, section by section."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from workbench.article.figures.budget_shares import budget_shares
from workbench.article.figures.calibration import calibration
from workbench.article.figures.gauge_agreement import gauge_agreement
from workbench.article.gauge_tables import (
    agreements_table,
    features_table,
    gauge_study_table,
    impressions_table,
    struck_out_table,
)
from workbench.article.measuring_tables import (
    budget_table,
    calibrations_table,
    contrasts_table,
    limits_table,
    refused_budgets_table,
)
from workbench.castings.calibration_use import calibration_uses
from workbench.castings.gauge_agreement import recorded_agreements
from workbench.castings.gauge_studies import recorded_studies
from workbench.castings.impressions import impression_spreads
from workbench.castings.observers import feature_agreements, feature_shares
from workbench.castings.reading_budget import drawn
from workbench.castings.struck_out import fates
from workbench.castings.study_budgets import study_budgets, walls_at_limits

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.article.tables import Table
    from workbench.study import Study

MOST_DRAWN = 3  # calibrations, and pairs of gauges


def what_was_struck_out(study: Study) -> Table:
    """Give the table of what became of every row."""
    found = fates(study.records, study.settings, study.calibrations)
    return struck_out_table(found, study.records.rows_in)


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
    for budgets in found.budgets:
        generator = np.random.default_rng(seed)
        for measured in budgets:
            yield budget_table(measured, confidence, drawn(measured, confidence, generator))
        yield budget_shares(budgets, footer=footer)
    if found.refused:
        yield refused_budgets_table(found.refused, study.settings)
    if study.ledger.entries:
        yield contrasts_table(study.judge(seed=seed))


def gauges_shown(study: Study, footer: str) -> Iterator[Table | Picture]:
    """Give the gauge studies, the scatter of hardness readings, gauges and eyes compared."""
    given = (study.records, study.settings, study.calibrations)
    for found in recorded_studies(*given):
        yield gauge_study_table(found, study.settings)
    yield impressions_table(impression_spreads(study.records.cells, study.settings), study.settings)
    compared = recorded_agreements(*given)
    yield agreements_table(compared, study.settings)
    of_gauges = [pair for pair in compared if pair.found is not None and pair.factor == "gauge"]
    for pair in of_gauges[:MOST_DRAWN]:
        yield gauge_agreement(pair, study.settings, footer=footer)
    yield from features_shown(study)


def limits_shown(study: Study) -> Table:
    """Give the walls of every block against the least wall of each duty stated."""
    found = walls_at_limits(study.records, study.settings, study.calibrations)
    return limits_table(found, study.settings)


def features_shown(study: Study) -> Iterator[Table]:
    """Give the features seen by eye, where the study declares any."""
    seen = feature_agreements(study.records.cells, study.settings)
    if seen:
        shares = feature_shares(study.records.cells, study.settings)
        yield features_table(shares, seen, study.settings)
