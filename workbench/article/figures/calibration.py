"""One calibration: what the gauge showed beside the true value, the line through it, its residuals.

The upper panel shows the error of the gauge (shown minus true), where a line looks like what it
does; a plot of shown on true would hide everything beside its diagonal.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted
from workbench.errors import Refusal
from workbench.records.rounding import interval_text, quantity_text
from workbench.records.units import factor

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.castings.calibration import Calibration
    from workbench.inference.measuring.calibration_line import CalibrationLine

POINTS = 60  # along the line
ROOM = 0.06  # of the range, beyond its ends
REACH = 2.0  # standard uncertainties the band shows


def calibration(
    found: Calibration,
    pieces: pd.DataFrame,
    corrected: tuple[float, float] | None = None,
    *,
    footer: str = "",
) -> Picture:
    """Draw one calibration made on pieces.

    Parameters
    ----------
    found
        The calibration; it has a line.
    pieces
        Its rows of `calibrations.csv`.
    corrected
        Least and greatest of the readings it corrects, as shown, in its unit; None for none.
    footer
        What a reader needs to make the figure again: version.

    Raises
    ------
    Refusal
        `no_reference_readings` where there is nothing to draw.
    """
    if found.line is None or pieces.empty:
        raise Refusal(
            "no_reference_readings", f"Calibration “{found.name}” has no readings on pieces."
        )
    table = _readings(found, found.line, pieces)
    with style.drawing():
        figure = style.sheet(4.8, title=f"Calibration {found.name} of {found.gauge}", footer=footer)
        upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(2, 1.2))
        _draw_errors(upper, found.line, table, corrected)
        _draw_residuals(lower, found.line, table)
        style.value_axis(upper, f"shown minus true ({found.unit})", axis="y")
        style.value_axis(lower, f"residual ({found.unit})", axis="y")
        style.value_axis(lower, f"true value of the piece ({found.unit})")
        _explain(upper, corrected is not None)
        return finish(
            figure,
            alt=_alternative(found, found.line, table, corrected),
            caption=_caption(found, found.line, corrected),
            data=table.assign(unit=found.unit),
        )


def _readings(found: Calibration, line: CalibrationLine, pieces: pd.DataFrame) -> pd.DataFrame:
    """Give the readings on the pieces in the calibration's unit, with error and residual."""
    scale = pieces["unit"].map({own: factor(own, found.unit) for own in pieces["unit"].unique()})
    reference, shown = pieces["reference"] * scale, pieces["indicated"] * scale
    return pd.DataFrame(
        {
            "reference": reference.to_numpy(float),
            "indicated": shown.to_numpy(float),
            "error": (shown - reference).to_numpy(float),
            "residual": (shown - line.indicated(reference.to_numpy(float))).to_numpy(float),
        }
    )


def _draw_errors(
    axes: Axes, line: CalibrationLine, table: pd.DataFrame, corrected: tuple[float, float] | None
) -> None:
    """Draw pieces, line and band, and the stretch of the readings corrected."""
    ends = [float(table["reference"].min()), float(table["reference"].max())]
    if corrected is not None:
        spanned = [line.corrected(end) for end in corrected]
        axes.axvspan(*spanned, facecolor=style.SHADE, edgecolor=style.SOFT, linewidth=0.8, zorder=0)
        ends = [min(ends[0], spanned[0]), max(ends[1], spanned[1])]
    room = ROOM * (ends[1] - ends[0]) or 0.1 * abs(ends[0]) or 1.0
    x = np.linspace(ends[0] - room, ends[1] + room, POINTS)
    height = line.indicated(x) - x
    u = np.sqrt(line.covariance().between(x, x))
    axes.fill_between(
        x, height - REACH * u, height + REACH * u, color=style.BLUE, alpha=0.18, linewidth=0
    )
    axes.plot(x, height, color=style.BLUE, linewidth=1.8)
    axes.axhline(0, color=style.SOFT, linewidth=0.9)
    axes.scatter(
        table["reference"],
        table["error"],
        s=26,
        facecolor="white",
        edgecolor=style.INK,
        linewidths=1.1,
        zorder=3,
    )
    axes.set_xlim(x[0], x[-1])


def _draw_residuals(axes: Axes, line: CalibrationLine, table: pd.DataFrame) -> None:
    axes.axhline(0, color=style.BLUE, linewidth=1.4)
    axes.vlines(table["reference"], 0, table["residual"], color=style.FAINT, linewidth=1.0)
    axes.scatter(
        table["reference"],
        table["residual"],
        s=22,
        facecolor="white",
        edgecolor=style.INK,
        linewidths=1.1,
        zorder=3,
    )
    sd = line.reading_sd or 0.0
    reach = 1.25 * max(float(table["residual"].abs().max()), REACH * sd) or 1.0
    axes.set_ylim(-reach, reach)
    for side in (-1, 1):
        axes.axhline(side * REACH * sd, color=style.SOFT, linewidth=0.9, linestyle=(0, (4, 3)))


def _explain(axes: Axes, shaded: bool) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    marks: list[Line2D | Patch] = [
        Line2D(
            [],
            [],
            linestyle="none",
            marker="o",
            markerfacecolor="white",
            markeredgecolor=style.INK,
            label="reading on a piece",
        ),
        Line2D(
            [], [], color=style.BLUE, linewidth=1.8, label="line, with 2 standard uncertainties"
        ),
    ]
    if shaded:
        marks.append(Patch(facecolor=style.SHADE, edgecolor=style.SOFT, label="values it corrects"))
    style.key(axes, marks)


def _line_words(found: Calibration, line: CalibrationLine) -> str:
    v = line.covariance()
    zero = quantity_text(line.zero, math.sqrt(v.zero), found.unit)
    slope = quantity_text(line.slope, math.sqrt(v.slope))
    return f"zero {zero} (u {math.sqrt(v.zero):.2g}), slope {slope} (u {math.sqrt(v.slope):.2g})"


def _alternative(
    found: Calibration,
    line: CalibrationLine,
    table: pd.DataFrame,
    corrected: tuple[float, float] | None,
) -> str:
    """Say the figure in words: the line, its pieces, its residuals, what it corrects."""
    worst = float(table["residual"].abs().max())
    said = (
        f"Calibration {clean(found.name, 60)} of {clean(found.gauge, 60)}: "
        f"{counted(len(table), 'reading')} on {counted(line.pieces, 'piece')} from "
        f"{interval_text(table['reference'].min(), table['reference'].max(), found.unit)}; "
        f"{_line_words(found, line)}. Shown minus true from "
        f"{quantity_text(float(table['error'].min()), line.reading_sd, found.unit)} to "
        f"{quantity_text(float(table['error'].max()), line.reading_sd, found.unit)}; residuals "
        f"within {quantity_text(worst, line.reading_sd, found.unit)}."
    )
    if corrected is not None:
        low, high = (line.corrected(end) for end in corrected)
        said += f" It corrects readings from {interval_text(low, high, found.unit)}."
    return said


def _caption(
    found: Calibration, line: CalibrationLine, corrected: tuple[float, float] | None
) -> str:
    """Say how the figure is to be read, and what speaks against the calibration."""
    said = (
        f"Above: the error of the gauge on its pieces, with the line ({line.method}) and its band; "
        "an error of the line is shared by all readings corrected with it. Below: what is left of "
        "each reading; the dashed lines are 2 standard deviations of one reading."
    )
    if corrected is not None:
        low, high = (line.corrected(end) for end in corrected)
        outside = bool(line.extrapolated(corrected[0]) or line.extrapolated(corrected[1]))
        said += f" Shaded: the values corrected, {interval_text(low, high, found.unit)}" + (
            ", which reach beyond the pieces: there the line is a guess." if outside else "."
        )
    if found.findings:
        said += f" Against it: {'; '.join(finding.sentence for finding in found.findings)}."
    return said
