"""One quantity gathered from the records: corrected, in one unit, what enters a mean apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from workbench.article.names import family_order, quantity_label
from workbench.article.sample import FamilyMean, Remembered, Sample
from workbench.castings.allowances import MASS
from workbench.castings.calibration import Calibrations, calibrations_of
from workbench.castings.correction import corrected_moments, corrected_values, reached
from workbench.errors import Refusal
from workbench.inference.means.intervals import mean_interval
from workbench.records.units import canonical_unit, factor

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbench.records.settings import Settings
    from workbench.records.store import Records
    from workbench.study import Study


def quantities_met(records: Records, settings: Settings) -> tuple[str, ...]:
    """Give the quantities that were read at all, in the order of the settings."""
    met = set(records.cells["quantity"].unique())
    return tuple(quantity for quantity in settings.quantities if quantity in met)


def samples_of(study: Study) -> tuple[Sample, ...]:
    """Gather every quantity of which a reading may enter a mean, in the order of the settings.

    Features seen by eye have shares of blocks and no means; they are left out.
    """
    samples = []
    for quantity in quantities_met(study.records, study.settings):
        if study.settings.quantities[quantity].kind == "feature":
            continue
        try:
            samples.append(gathered(study, quantity))
        except Refusal as refusal:
            if refusal.code != "no_readings":
                raise
    return tuple(samples)


def gathered(study: Study, quantity: str) -> Sample:
    """Gather one quantity of a study, as `sample_of` does; the pages of a run gather it once."""
    known = tuple(study.settings.quantities)

    def gather() -> Sample:
        return sample_of(study.records, study.settings, quantity, study.calibrations)

    if quantity not in known:
        return gather()  # which refuses it
    return study.once(f"sample-{known.index(quantity)}", gather)


def sample_of(
    records: Records,
    settings: Settings,
    quantity: str,
    calibrations: Calibrations | None = None,
) -> Sample:
    """Gather one quantity from the records, corrected, in the unit the study shows it in.

    `calibrations` are those of the records, fitted here where they are not given.
    A block's mean is that of all its readings on grid places with good contact; a family's mean is
    the mean of its block means, with Student's interval over blocks.

    Raises
    ------
    Refusal
        `unknown_quantity`; `no_readings` when none may enter a mean.
    """
    if quantity not in settings.quantities:
        raise Refusal(
            "unknown_quantity",
            f"There is no quantity {quantity!r}; known are {', '.join(settings.quantities)}.",
        )
    if calibrations is None:
        calibrations = calibrations_of(records, settings)
    unit = unit_shown(records, settings, quantity, calibrations)
    met = records.cells[records.cells["quantity"] == quantity]
    cells = counted_cells(met, unit, calibrations)
    if cells.empty:
        raise Refusal("no_readings", f"No reading of {quantity} may enter a mean.")
    moments = corrected_moments(cells, unit, calibrations)
    blocks = block_summaries(moments)
    families = family_order(settings, blocks["family"])
    distinct = distinct_values(records, quantity, unit, calibrations)
    return Sample(
        quantity=quantity,
        label=quantity_label(settings, quantity),
        unit=unit,
        confidence=settings.confidence,
        step=float(distinct.pop("step").max()),
        families=families,
        labels=settings.family_labels(records.blocks["family"]),
        distinct=distinct[distinct["family"].isin(families)],
        blocks=blocks,
        means={family: family_mean(blocks, family, settings.confidence) for family in families},
        remembered=remembered_of(settings, quantity, unit),
        without_mean=tuple(
            family for family in family_order(settings, met["family"]) if family not in families
        ),
        other_scale=int(met.loc[~reached(met, unit, calibrations), "n"].sum()),
        corrected=bool((moments["corrected_by"] != "").any()),
        never_kept=never_kept(settings, quantity, families),
    )


def never_kept(settings: Settings, quantity: str, families: Sequence[str]) -> tuple[str, ...]:
    """Say what the study states was never kept of a quantity of the families drawn."""
    return tuple(
        one.words
        if one.family is None
        else f"of {settings.family_label(one.family)} blocks {one.words}"
        for one in settings.truncations
        if one.quantity == quantity and (one.family is None or one.family in families)
    )


def unit_shown(
    records: Records, settings: Settings, quantity: str, calibrations: Calibrations
) -> str:
    """Give the unit a quantity is shown in: the study's, or of hardness the scale read most."""
    unit = settings.quantities[quantity].unit
    met = records.cells[records.cells["quantity"] == quantity]
    if met.empty or reached(met, unit, calibrations).any():
        return unit
    return str(met.groupby("unit")["n"].sum().idxmax())


def counted_cells(cells: pd.DataFrame, unit: str, calibrations: Calibrations) -> pd.DataFrame:
    """Keep the cells that enter a mean: grid places, good contact, a scale that reaches `unit`."""
    enters = (cells["sampling"] == "grid") & (cells["contact"] == "good")
    return cells[enters & reached(cells, unit, calibrations)]


def block_summaries(cells: pd.DataFrame) -> pd.DataFrame:
    """Give one row a block from cells with `n` and `mean`: readings, mean, bores, bore_sd."""
    weighted = cells.assign(total=cells["n"] * cells["mean"])
    bores = weighted.groupby(["family", "block", "bore"], as_index=False)[["n", "total"]].sum()
    bores["bore_mean"] = bores["total"] / bores["n"]
    by_block = bores.groupby(["family", "block"])
    sums = by_block[["n", "total"]].sum()
    blocks = pd.DataFrame(
        {
            "readings": sums["n"],
            "mean": sums["total"] / sums["n"],
            "bores": by_block.size(),
            "bore_sd": by_block["bore_mean"].std(),
        }
    )
    return blocks.reset_index()


def family_mean(blocks: pd.DataFrame, family: str, confidence: float) -> FamilyMean:
    """Give the mean of a family's block means; a block alone gives no interval."""
    mine = blocks[blocks["family"] == family]
    means = mine["mean"].to_numpy()
    return FamilyMean(
        blocks=len(mine),
        readings=int(mine["readings"].sum()),
        mean=float(means.mean()),
        interval=mean_interval(means, confidence) if means.size > 1 else None,
    )


def distinct_values(
    records: Records, quantity: str, unit: str, calibrations: Calibrations
) -> pd.DataFrame:
    """Give the distinct values in `unit`: family, value, counted, count, step as shown."""
    by = ["family", "sampling", "contact", "calibration", "gauge"]
    if quantity == MASS and calibrations.allowances.lacked:
        by.append("block")
    values = records.values(quantity, by=by)
    values = values[reached(values, unit, calibrations)]
    table = corrected_values(values, unit, calibrations, quantity)
    table["counted"] = (table["sampling"] == "grid") & (table["contact"] == "good")
    alike = table.groupby(["family", "value", "counted"], sort=False)
    return pd.DataFrame({"count": alike["n"].sum(), "step": alike["step"].max()}).reset_index()


def remembered_of(settings: Settings, quantity: str, unit: str) -> tuple[Remembered, ...]:
    """Give the ranges remembered of a quantity, in `unit`."""
    found = []
    for said in settings.remembered:
        if said.quantity != quantity:
            continue
        try:
            scale = factor(canonical_unit(said.unit) or said.unit, unit)
        except Refusal:  # remembered on another hardness scale
            continue
        else:
            found.append(
                Remembered(
                    family=said.family,
                    low=said.low * scale,
                    high=said.high * scale,
                    source=said.who,
                )
            )
    return tuple(found)
