"""Two gauges, or two operators, at the same places: differences, bias, limits of agreement."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.names import quantity_label
from workbench.article.numbers import estimate_words, percent
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted, shorten
from workbench.errors import Refusal

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.castings.gauge_agreement import RecordedAgreement
    from workbench.inference.measuring.agreement import Agreement, AgreementLimits
    from workbench.records.settings import Settings

MOST = 3000  # places drawn
NAME = 20  # signs of a name beside the axis
EDGE = 1.06  # of the axes, where the labels of the lines stand
ACROSS = (1.015, 1.03, 1.045)  # and the bars of their intervals


def gauge_agreement(
    compared: RecordedAgreement, settings: Settings, *, footer: str = ""
) -> Picture:
    """Draw first minus second against the mean of both, place by place.

    Parameters
    ----------
    compared
        Two labels on the places both read, from `recorded_agreements`; it was not refused.
    settings
        The study's: labels, confidence.
    footer
        What a reader needs to make the figure again: version.

    Raises
    ------
    Refusal
        `no_agreement` where the comparison was refused.
    """
    if compared.found is None:
        raise Refusal("no_agreement", f"{compared.first} and {compared.second}: {compared.why}.")
    label = quantity_label(settings, compared.quantity)
    limits = compared.found.limits(settings.confidence)
    table = pd.DataFrame(
        {
            "block": compared.pairs["block"],
            "mean": (compared.pairs["first"] + compared.pairs["second"]) / 2,
            "difference": compared.pairs["first"] - compared.pairs["second"],
        }
    )
    with style.drawing():
        figure = style.sheet(
            4.3, title=f"{label}: {compared.first} against {compared.second}", footer=footer
        )
        axes = figure.add_subplot()
        _draw_places(axes, table)
        _draw_lines(axes, compared.found, limits, settings.confidence)
        axes.axhline(0, color=style.SOFT, linewidth=0.9, zorder=1)
        style.value_axis(axes, style.with_unit(f"mean of both, {label.lower()}", compared.unit))
        style.value_axis(
            axes,
            style.with_unit(
                f"{shorten(compared.first, NAME)} minus {shorten(compared.second, NAME)}",
                compared.unit,
            ),
            axis="y",
        )
        return finish(
            figure,
            alt=_alternative(compared, compared.found, limits, label, settings.confidence),
            caption=_caption(compared, len(table), settings.confidence),
            data=table.assign(unit=compared.unit),
        )


def _draw_places(axes: Axes, table: pd.DataFrame) -> None:
    """Draw the places, at most so many, evenly spread over what was read."""
    drawn = table.sort_values("mean")
    if len(drawn) > MOST:
        drawn = drawn.iloc[np.linspace(0, len(drawn) - 1, MOST).round().astype(int)]
    axes.scatter(
        drawn["mean"],
        drawn["difference"],
        s=16,
        facecolor="none",
        edgecolor=style.SOFT,
        linewidths=0.8,
        zorder=2,
    )


def _draw_lines(axes: Axes, found: Agreement, limits: AgreementLimits, confidence: float) -> None:
    """Draw bias and limits with a bar for the interval of each, named at the right."""
    bias = found.bias.interval(confidence)
    lines = (
        ("upper limit", limits.high.estimate, limits.high.low, limits.high.high, (0, (5, 3))),
        ("bias", found.bias.estimate, bias.low, bias.high, "-"),
        ("lower limit", limits.low.estimate, limits.low.low, limits.low.high, (0, (5, 3))),
    )
    for (name, at, low, high, dashes), across in zip(lines, ACROSS, strict=True):
        colour = style.BLUE if name == "bias" else style.VERMILLION
        axes.axhline(at, color=colour, linewidth=1.6, linestyle=dashes, zorder=3)
        axes.plot(
            [across, across],
            [low, high],
            color=colour,
            linewidth=2.2,
            marker="_",
            markersize=7,
            transform=axes.get_yaxis_transform(),
            clip_on=False,
            zorder=4,
        )
        axes.annotate(
            name,
            (EDGE, at),
            xycoords=("axes fraction", "data"),
            va="center",
            fontsize=8.5,
            annotation_clip=False,
        )


def _words(found: Agreement, limits: AgreementLimits, unit: str, confidence: float) -> str:
    bias = found.bias.interval(confidence)
    u = found.bias.standard_error
    shift = estimate_words(found.bias.estimate, bias.low, bias.high, unit, uncertainty=u)
    low, high = (
        estimate_words(end.estimate, end.low, end.high, unit) for end in (limits.low, limits.high)
    )
    return f"bias {shift}, limits of agreement {low} and {high}"


def _alternative(
    compared: RecordedAgreement,
    found: Agreement,
    limits: AgreementLimits,
    label: str,
    confidence: float,
) -> str:
    """Say the figure in words: what was compared, on how much, bias and limits."""
    blocks = compared.pairs["block"].nunique()
    return (
        f"Difference plot of {label.lower()}, {clean(compared.first, 60)} minus "
        f"{clean(compared.second, 60)} at {counted(len(compared.pairs), 'place')} of "
        f"{counted(blocks, 'block')}: {_words(found, limits, compared.unit, confidence)} "
        f"(intervals at {percent(confidence)})."
    )


def _caption(compared: RecordedAgreement, places: int, confidence: float) -> str:
    """Say how the figure is to be read."""
    blocks = compared.pairs["block"].nunique()
    said = (
        f"Each circle is one place read with both {compared.factor}s, corrected, at the means of "
        f"its readings ({counted(places, 'place')}, {counted(blocks, 'block')}). The solid line is "
        "the bias, the dashed ones are the limits between which 95% of the differences of two "
        "single readings lie; the bars at "
        f"the right are the {percent(confidence)} intervals of the three."
    )
    return said + (f" {MOST:,} places are drawn." if places > MOST else "")
