"""Tables of hardness: how readings scatter at a place, and the strengths it may stand for."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.article.gauge_tables import spread_words
from workbench.article.names import quantity_label
from workbench.article.record_tables import MOST_ROWS
from workbench.article.tables import Table
from workbench.castings.tensile import (
    CAUTION,
    GREATEST_RELATIVE,
    GREATEST_STRENGTH,
    LEAST_RELATIVE,
    LEAST_STRENGTH,
    SOURCE,
    tensile_band,
)
from workbench.errors import Refusal
from workbench.records.rounding import interval_text

if TYPE_CHECKING:
    from workbench.article.sample import Sample
    from workbench.castings.impressions import ImpressionSpread
    from workbench.records.settings import Settings


def impressions_table(found: Sequence[ImpressionSpread], settings: Settings) -> Table:
    """Give the hardness readings a place has, and how they scatter there, by gauge and scale."""
    rows = tuple(
        (
            f"{quantity_label(settings, of.quantity)}, {of.gauge or 'gauge not named'} ({of.unit})",
            f"{of.places:,}",
            f"{of.fewest}" if of.fewest == of.most else f"{of.fewest} to {of.most}",
            spread_words(of.sd, of.unit) if of.degrees_of_freedom else "nothing was repeated",
            f"{spread_words(of.least_sd, of.unit)} to {spread_words(of.largest_sd, of.unit)}"
            if of.degrees_of_freedom
            else "",
        )
        for of in found
    )
    return Table(
        caption="Hardness readings a place, and how they scatter there",
        columns=(
            "Quantity, gauge and scale",
            "Places",
            "Readings a place",
            "Scatter of one reading",
            "From place to place",
        ),
        rows=rows[:MOST_ROWS],
        numeric=(1, 2, 3),
        note="Standard deviations about the mean of the place. Scales are never mixed."
        if rows
        else "No hardness was read.",
    )


def tensile_table(sample: Sample) -> Table:
    """Give the band of tensile strengths that the mean hardness of each family may stand for."""
    rows = []
    for family in sample.families:
        mean = sample.means[family].mean
        try:
            band = tensile_band(mean, sample.unit)
            said = interval_text(band.low, band.high, "MPa", uncertainty=10.0)
        except Refusal as refusal:
            said = str(refusal)
        rows.append((sample.labels.get(family, family), sample.words(family), said))
    return Table(
        caption="Tensile strengths a hardness may stand for",
        columns=("Family", "Mean hardness of its blocks", "Strength"),
        rows=tuple(rows),
        note=(
            f"The stated relation HBW = RH x (100 + 0.44 Rm) for grey iron of {LEAST_STRENGTH:g} "
            f"to {GREATEST_STRENGTH:g} MPa, with a relative hardness RH from {LEAST_RELATIVE:g} to "
            f"{GREATEST_RELATIVE:g}: {SOURCE}. {CAUTION}"
        ),
    )
