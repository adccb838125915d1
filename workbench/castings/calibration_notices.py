"""What `workbench check` says of calibrations once they are fitted: no faults, but to be known."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, cast

import numpy as np

from workbench.castings.calibration import Calibrations
from workbench.castings.correction import beyond_pieces
from workbench.castings.correlation import Correlation
from workbench.records.columns import CALIBRATIONS_FILE, CORRELATIONS_FILE
from workbench.records.notice import Notice, quoted
from workbench.records.reduction import moments
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from workbench.records.store import Records


def calibration_notices(calibrations: Calibrations, records: Records) -> tuple[Notice, ...]:
    """Say what speaks against the calibrations of a study, and which readings they do not reach."""
    return (
        *_findings(calibrations),
        *_ranges(calibrations, records),
        *_correlations(calibrations, records),
    )


def _findings(calibrations: Calibrations) -> Iterator[Notice]:
    """Give each finding once, with all the calibrations it is true of."""
    names: dict[tuple[str, str], list[str]] = {}
    for calibration in calibrations.by_name.values():
        for finding in calibration.findings:
            names.setdefault((finding.code, finding.sentence), []).append(calibration.name)
    for (code, sentence), of in names.items():
        yield Notice(file=CALIBRATIONS_FILE, code=code, sentence=f"{quoted(of)}: {sentence}.")


def _ranges(calibrations: Calibrations, records: Records) -> Iterator[Notice]:
    """Count, for each calibration, the readings beyond what its pieces cover."""
    cells = records.cells[records.cells["calibration"].isin(list(calibrations.by_name))]
    for key, mine in cells.groupby(["calibration", "gauge", "unit"]):
        name, gauge, unit = cast("tuple[str, str, str]", key)
        line = calibrations.line_for(name, gauge, unit)
        if line is None:
            continue
        shown = moments(mine, unit)
        low, high = shown["low"].to_numpy(), shown["high"].to_numpy()
        outside = beyond_pieces(line, low) | beyond_pieces(line, high)
        if not outside.any():
            continue
        n = shown["n"].to_numpy()
        ends = np.array([low.min(), high.max()])
        furthest = ends[np.argmax(np.maximum(line.low - ends, ends - line.high))]
        reach = " to ".join(quantity_text(end) for end in (line.low, line.high))
        yield Notice(
            file=CALIBRATIONS_FILE,
            code="calibration_range",
            sentence=f"“{name}”: {n[outside].sum()} of {n.sum()} readings are of places read "
            f"outside the {reach} {unit} that its pieces showed (furthest "
            f"{quantity_text(furthest, unit=unit)}); their correction is extrapolated.",
        )


def _correlations(calibrations: Calibrations, records: Records) -> Iterator[Notice]:
    """Say of each usable correlation how it was found, and how many readings lie beyond it."""
    cells = records.cells
    for known in calibrations.correlations.values():
        if known.line is None:
            continue
        mine = cells[(cells["gauge"] == known.gauge) & (cells["unit"] == known.shown)]
        said = (
            f"“{known.name}” turns {known.shown} by {known.gauge} into {known.to}: "
            f"{known.line.readings} pairs from {quantity_text(known.spanned[0])} to "
            f"{quantity_text(known.spanned[1], unit=known.to)}, scatter "
            f"{_scatter_text(known)}; {int(mine['n'].sum())} readings"
        )
        if not known.weighed:
            said += "; the values count as exact, for not every pair states both uncertainties"
        yield Notice(file=CORRELATIONS_FILE, code="correlation", sentence=f"{said}.")
        shown = moments(mine, known.shown)
        outside = beyond_pieces(known.line, shown["low"].to_numpy(float))
        outside |= beyond_pieces(known.line, shown["high"].to_numpy(float))
        if outside.any():
            yield Notice(
                file=CORRELATIONS_FILE,
                code="correlation_range",
                sentence=f"“{known.name}”: {int(shown['n'][outside].sum())} of "
                f"{int(shown['n'].sum())} readings are of places read outside the "
                f"{quantity_text(known.line.low)} to "
                f"{quantity_text(known.line.high, unit=known.shown)} of its pairs; there the line "
                "is a guess.",
            )


def _scatter_text(known: Correlation) -> str:
    """Give the scatter of the pairs about the line, on the scale it leads to."""
    assert known.line is not None
    assert known.line.reading_sd is not None
    scatter = known.line.reading_sd / known.line.slope
    return quantity_text(scatter, scatter, known.to)
