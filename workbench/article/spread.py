"""Where the spread of a quantity comes from: blocks of a family, bores of a block, readings."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from workbench.article.gathering import counted_cells, unit_shown
from workbench.article.names import quantity_label
from workbench.article.numbers import estimate_words, percent, share_words
from workbench.article.tables import Table
from workbench.article.verdict_tables import LEVELS, components_table
from workbench.castings.calibration import Calibrations, calibrations_of
from workbench.castings.correction import corrected_moments
from workbench.errors import Refusal
from workbench.inference.nested.components import component_interval, share_interval
from workbench.inference.nested.fit import NestedFit
from workbench.inference.nested.model import NestedModel, nested_model
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from workbench.records.settings import Settings
    from workbench.records.store import Records

FACTORS = ("family", "station", "depth", "gauge")


def spread_table(
    records: Records,
    settings: Settings,
    quantity: str,
    calibrations: Calibrations | None = None,
) -> Table:
    """Give the standard deviation at each level, one for all families, with intervals.

    `calibrations` are those of the records, fitted here where they are not given.
    """
    if calibrations is None:
        calibrations = calibrations_of(records, settings)
    label = quantity_label(settings, quantity)
    unit = unit_shown(records, settings, quantity, calibrations)
    try:
        model = spread_of(records, settings, quantity, calibrations)
    except Refusal as refusal:
        return components_table(label, (), unit, note=f"The spread is not split: {refusal}")
    confidence = settings.confidence
    return Table(
        caption=f"{label}: where the spread comes from ({percent(confidence)} intervals)",
        columns=("Between", "Standard deviation", "Share of the variance"),
        rows=tuple(
            (named, _deviation(model, level, unit, confidence), _share(model, level, confidence))
            for level, named in levels(model.fit)
        ),
        note=f"{fit_note(model.fit)} Intervals by the profile of the likelihood.",
    )


def _deviation(model: NestedModel, level: str, unit: str, confidence: float) -> str:
    try:
        found = component_interval(model, level, confidence)
    except Refusal:
        return quantity_text(model.fit.standard_deviations[level], unit=unit)
    middle, low, high = map(math.sqrt, (found.estimate, found.low, found.high))
    return estimate_words(middle, low, high, unit)


def _share(model: NestedModel, level: str, confidence: float) -> str:
    try:
        found = share_interval(model, [level], confidence)
    except Refusal:
        total = sum(model.fit.variance_components.values())
        return share_words(model.fit.variance_components[level] / total)
    return share_words(found.estimate, found.low, found.high)


def spread_of(
    records: Records, settings: Settings, quantity: str, calibrations: Calibrations
) -> NestedModel:
    """Fit the nested model to all families: one spread for all, whatever their means.

    Families, and stations, depths and gauges where there is more than one, are fixed factors (of
    gauges, those of readings without calibration);
    blocks, and bores within them where they are named, are drawn at random.

    Raises
    ------
    Refusal
        As `nested_fit`: too little to tell the levels apart.
    """
    unit = unit_shown(records, settings, quantity, calibrations)
    met = records.cells[records.cells["quantity"] == quantity]
    cells = corrected_moments(counted_cells(met, unit, calibrations), unit, calibrations)
    cells["gauge"] = cells["gauge"].where(cells["corrected_by"] == "", "")
    cells["block"] = cells["family"] + "\x1f" + cells["block"]  # one name in two families is two
    fixed = [name for name in FACTORS if cells[name].nunique() > 1]
    nesting = ("block", "bore") if (cells["bore"] != "").any() else ("block",)
    return nested_model(cells, response="mean", fixed=fixed, nesting=nesting)


def levels(fit: NestedFit) -> list[tuple[str, str]]:
    """Give each level of a fit, and its name with what is merged into it."""
    found: list[tuple[str, str]] = []
    merged: list[str] = []
    for level in ("block", "bore", "residual"):
        if level in fit.merged:
            merged.append(LEVELS[level])
        elif level in fit.standard_deviations:
            found.append((level, " and ".join([*merged, LEVELS[level]])))
            merged = []
    return found


def fit_note(fit: NestedFit) -> str:
    """Say how much the fit rests on, and what it could not tell apart."""
    words = (
        f"Nested model by REML, the families' means and the places held apart: "
        f"{fit.counts['block']:,} blocks, {fit.counts['reading']:,} readings; one spread is taken "
        "to hold for all families."
    )
    if fit.boundary:
        words += f" Estimated at zero: {', '.join(fit.boundary)}."
    return words
