"""What makes hardness readings void: thin iron, a light block, impressions too near or too few.

A rebound reading in iron that gives way reads low, and so does an impression near another or
through thin iron. The limits are those the study states for its gauge, with their source; for an
impression of known load and ball those of the standard stand in: 8 depths of iron under it, and 3
diameters between centres (ISO 6506-1, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from workbench.castings.allowances import MASS
from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_moments, reached
from workbench.errors import Refusal
from workbench.records.brinell import INDICES, Impression, impression_of
from workbench.records.columns import BELOW
from workbench.records.gauge_table import Gauge, Indenter, Needs
from workbench.records.notice import quoted
from workbench.records.rounding import quantity_text
from workbench.records.settings import Settings
from workbench.records.units import factor

PLACE = ["block", "bore", "station", "depth"]
STANDARD = "ISO 6506-1, from memory"
HARDNESS = "HB"


@dataclass(frozen=True, slots=True, kw_only=True)
class VoidFinding:
    """Something that speaks against readings by `gauge`; `sentence` is whole."""

    gauge: str
    code: str
    sentence: str


def void_findings(
    cells: pd.DataFrame, settings: Settings, calibrations: Calibrations
) -> tuple[VoidFinding, ...]:
    """Say what speaks against the hardness readings among `cells`.

    Only what the records can show is looked at: how many readings a place has, how thick the iron
    of a block was read (or drawn) to be, what the block weighs, and the spacing the study states.
    """
    kinds = [name for name, known in settings.quantities.items() if known.kind == "hardness"]
    hard = cells[cells["quantity"].isin(kinds) & (cells["contact"] != "doubtful")]
    found: list[VoidFinding] = []
    for name, gauge in settings.gauges.items():
        mine = hard[hard["gauge"] == name]
        if len(mine):
            for code, sentence in _of_gauge(gauge, mine, cells, settings, calibrations):
                found.append(VoidFinding(gauge=name, code=code, sentence=f"{name}: {sentence}."))
    found += _indices(hard, settings)
    return tuple(found)


def _of_gauge(
    gauge: Gauge,
    mine: pd.DataFrame,
    cells: pd.DataFrame,
    settings: Settings,
    calibrations: Calibrations,
) -> Iterator[tuple[str, str]]:
    needs = gauge.needs
    largest = _largest_impression(gauge, mine)
    if needs is None:
        return
    yield from _few(needs, mine)
    yield from _close(needs, largest)
    yield from _thin(needs, largest, mine, cells, settings, calibrations)
    yield from _light(needs, mine, cells, calibrations)


def _few(needs: Needs, mine: pd.DataFrame) -> Iterator[tuple[str, str]]:
    if needs.least_readings is None:
        return
    counts = mine.groupby(PLACE)["n"].sum()
    few = int((counts < needs.least_readings).sum())
    if few:
        yield (
            "few_impressions",
            f"{few} of {len(counts)} places have fewer than {needs.least_readings} readings "
            f"(asked for by the study: {needs.note})",
        )


def _close(needs: Needs, largest: Impression | None) -> Iterator[tuple[str, str]]:
    if needs.spacing is None:
        return
    least, source = needs.least_spacing, needs.note
    if least is None and largest is not None:
        least, source = largest.least_spacing / factor(needs.unit, "mm"), STANDARD
    if least is not None and needs.spacing < least:
        yield (
            "close_impressions",
            f"the readings stand {quantity_text(needs.spacing, unit=needs.unit)} apart; "
            f"{quantity_text(float(f'{least:.3g}'), unit=needs.unit)} are needed ({source})",
        )


def _thin(
    needs: Needs,
    largest: Impression | None,
    mine: pd.DataFrame,
    cells: pd.DataFrame,
    settings: Settings,
    calibrations: Calibrations,
) -> Iterator[tuple[str, str]]:
    if needs.section is None:
        return
    least, source = needs.least_section, needs.note
    if least is None and largest is not None:
        least, source = largest.least_thickness / factor(needs.unit, "mm"), STANDARD
    if least is None:
        return
    blocks = mine["block"].unique()
    read = _block_means(cells, needs.section, needs.unit, calibrations)
    drawn = getattr(settings.drawing, needs.section, None) if settings.drawing else None
    if drawn is not None and settings.drawing is not None:
        nominal = drawn * factor(settings.drawing.unit, needs.unit)
        read = pd.concat([read, pd.Series(nominal, index=blocks)])
        read = read[~read.index.duplicated()]
    thin = read[read.index.isin(blocks) & (read < least)]
    if len(thin):
        label = settings.quantities[needs.section].label
        yield (
            "thin_section",
            f"the {label} of {len(thin)} of {len(blocks)} blocks is below the "
            f"{_rounded(least, needs.unit)} needed under a reading ({source}); "
            f"down to {quantity_text(float(thin.min()), float(thin.min()) / 100, needs.unit)}",
        )


def _rounded(value: float, unit: str) -> str:
    """Give a limit to three digits: those of a standard follow from an impression."""
    return quantity_text(float(f"{value:.3g}"), unit=unit)


def _light(
    needs: Needs, mine: pd.DataFrame, cells: pd.DataFrame, calibrations: Calibrations
) -> Iterator[tuple[str, str]]:
    if needs.least_mass is None:
        return
    masses = _block_means(cells, MASS, needs.mass_unit, calibrations)
    light = masses[masses.index.isin(mine["block"].unique()) & (masses < needs.least_mass)]
    if len(light):
        yield (
            "light_block",
            f"{quoted(sorted(light.index))} weigh less than the "
            f"{quantity_text(needs.least_mass, unit=needs.mass_unit)} a reading needs "
            f"({needs.note})",
        )


def _block_means(
    cells: pd.DataFrame, quantity: str, unit: str, calibrations: Calibrations
) -> pd.Series[float]:
    """Give the mean of a quantity of each block, corrected, in `unit`."""
    mine = cells[(cells["quantity"] == quantity) & ~cells["contact"].isin(["doubtful", BELOW])]
    if mine.empty:
        return pd.Series(dtype=float)
    found = corrected_moments(mine, unit, calibrations)
    sums = (found["n"] * found["mean"]).groupby(found["block"]).sum()
    return sums / found.groupby("block")["n"].sum()


def _largest_impression(gauge: Gauge, mine: pd.DataFrame) -> Impression | None:
    """Give the impression of the softest reading, where the gauge states what presses it."""
    if gauge.impression is None:
        return None
    mine = mine[reached(mine, HARDNESS, Calibrations())]
    if mine.empty:
        return None
    softest = float((mine["kmin"] * mine["step"]).min())
    try:
        return impression_of(*_pressing(gauge.impression), softest, load_unit="N")
    except Refusal:
        return None


def _pressing(indenter: Indenter) -> tuple[float, float]:
    """Give load in N and ball in mm."""
    newtons = indenter.load * (1.0 if indenter.load_unit == "N" else 9.80665)
    return newtons, indenter.ball * factor(indenter.ball_unit, "mm")


def _indices(hard: pd.DataFrame, settings: Settings) -> Iterator[VoidFinding]:
    """Warn where impressions were pressed at different or unusual ratios of load to ball."""
    used = set(hard["gauge"])
    index = {
        name: round(0.102 * load / ball**2, 2)
        for name, gauge in settings.gauges.items()
        if gauge.impression is not None and name in used
        for load, ball in (_pressing(gauge.impression),)
    }
    named = ", ".join(f"{name}: {value:g}" for name, value in index.items())
    if len({round(value) if value >= 5 else value for value in index.values()}) > 1:
        yield VoidFinding(
            gauge=next(iter(index)),
            code="unlike_indices",
            sentence=f"Impressions were pressed at different indices 0.102 F / D^2 ({named}); "
            f"hardness compares at one only ({STANDARD}).",
        )
    for name, value in index.items():
        if not any(abs(value - usual) <= 0.01 * usual for usual in INDICES):
            yield VoidFinding(
                gauge=name,
                code="unusual_index",
                sentence=f"{name}: the index 0.102 F / D^2 of its impressions is {value:g}, none "
                f"of {', '.join(f'{usual:g}' for usual in INDICES)} ({STANDARD}).",
            )
