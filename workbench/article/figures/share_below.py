"""The share of blocks with a place below a limit, over all limits, by family with its band."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.numbers import percent, share_words
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted
from workbench.errors import Refusal
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.castings.thin_spots import ThinFamily

HEIGHT = 4.6
LINES = ("-", "--", "-.", ":")
MARKS = 9  # on a curve
LEAST = 0.01  # share; a curve is drawn from there


def share_below(
    found: Mapping[str, ThinFamily], labels: Mapping[str, str], quantity: str, *, footer: str = ""
) -> Picture:
    """Draw the share of blocks below every limit: curve and band of the model, steps of the blocks.

    Parameters
    ----------
    found
        The families, from `thin_family`.
    labels
        What each family is called.
    quantity
        The label of the quantity.
    footer
        What a reader needs to make the figure again.

    Raises
    ------
    Refusal
        `nothing_to_draw` without a family.
    """
    if not found:
        raise Refusal("nothing_to_draw", "No family has a curve of shares below a limit.")
    unit = next(iter(found.values())).places.unit
    with style.drawing():
        looks = style.looks(found, labels)
        figure = style.sheet(
            HEIGHT,
            title=f"{quantity}: share of blocks with a place below a limit",
            footer=footer,
        )
        axes = figure.subplots()
        for place, (family, thin) in enumerate(found.items()):
            draw(axes, thin, looks[family], LINES[place % len(LINES)])
        limits = sorted({at for thin in found.values() for at in thin.limits})
        for at in limits:
            axes.axvline(at, color=style.SOFT, linewidth=0.8, linestyle=(0, (1, 2)))
            axes.annotate(
                quantity_text(at, unit=unit),
                (at, 1.0),
                xycoords=("data", "axes fraction"),
                xytext=(2, -2),
                textcoords="offset points",
                rotation=90,
                va="top",
                fontsize=7.5,
                color=style.SOFT,
            )
        axes.set_xlim(*drawn_range(found))
        axes.set_ylim(-2, 102)
        axes.set_ylabel("share of blocks with a place below (%)", fontsize=9)
        style.value_axis(axes, style.with_unit("limit", unit))
        axes.grid(visible=True, axis="y")
        style.key(axes, axes.get_legend_handles_labels()[0])
        return finish(
            figure,
            alt=alternative(found, labels, quantity, unit),
            caption=caption(found),
            data=plotted(found, unit),
        )


def drawn_range(found: Mapping[str, ThinFamily]) -> tuple[float, float]:
    """Give the limits drawn: those asked for, the blocks seen, and the middle of every curve."""
    ends = []
    for thin in found.values():
        curve = thin.curve
        inside = curve.limits[(curve.share > LEAST) & (curve.share < 1 - LEAST)]
        ends += [*inside[[0, -1]], *thin.minima[[0, -1]], *thin.limits]
    room = 0.05 * (max(ends) - min(ends))
    return float(min(ends) - room), float(max(ends) + room)


def draw(axes: Axes, thin: ThinFamily, look: style.Look, line: str) -> None:
    """Draw one family: band, curve with marks, and the blocks seen as steps."""
    curve = thin.curve
    axes.fill_between(
        curve.limits, 100 * curve.low, 100 * curve.high, color=look.colour, alpha=0.15, linewidth=0
    )
    axes.plot(
        curve.limits,
        100 * curve.share,
        line,
        color=look.colour,
        marker=look.marker,
        markersize=4.5,
        markevery=max(1, curve.limits.size // MARKS),
        markerfacecolor="white",
        linewidth=1.4,
        label=look.label,
    )
    x, share = steps(thin)
    axes.step(x, 100 * share, where="post", color=look.colour, linewidth=0.8, alpha=0.8)


def steps(thin: ThinFamily) -> tuple[np.ndarray, np.ndarray]:
    """Give the steps of the blocks seen within the curve's limits, from 0 to 1."""
    ends = thin.curve.limits[[0, -1]]
    inside = np.clip(thin.minima, *ends)
    share = np.arange(1, inside.size + 1) / max(1, inside.size)
    return np.concatenate([ends[:1], inside, ends[1:]]), np.concatenate([[0.0], share, share[-1:]])


def alternative(
    found: Mapping[str, ThinFamily], labels: Mapping[str, str], quantity: str, unit: str
) -> str:
    """Say the figure in words: the share of each family at each limit, or where half lie below."""
    lines = []
    for family, thin in found.items():
        name = f"{clean(labels[family], 60)} ({counted(thin.places.blocks, 'block')})"
        said = [
            f"{share_words(share.estimate, share.low, share.high)} below "
            f"{quantity_text(at, unit=unit)}"
            for share, at in (
                (thin.shares["block"].at(place), at) for place, at in enumerate(thin.limits)
            )
        ]
        middle = float(np.interp(0.5, thin.curve.share, thin.curve.limits))
        half = f"half of the blocks below {quantity_text(middle, unit=unit, step=thin.places.step)}"
        lines.append(f"{name}: {', '.join([*said, half])}")
    return (
        f"Curves of the share of blocks with a place of {quantity.lower()} below a limit, in "
        f"{unit}, one a family with its band. {'; '.join(lines)}."
    )


def caption(found: Mapping[str, ThinFamily]) -> str:
    """Say how the figure is to be read."""
    confidence = next(iter(found.values())).curve.confidence
    return (
        "Curves are predicted from the nested model for the iron at the places read; the shaded "
        f"band holds at each limit by itself with {percent(confidence)} confidence. Thin steps are "
        "the blocks seen, as the gauge showed them. Dotted verticals are the limits asked for."
    )


def plotted(found: Mapping[str, ThinFamily], unit: str) -> pd.DataFrame:
    """Give the numbers drawn, one row a point."""
    frames = []
    for family, thin in found.items():
        curve = thin.curve
        columns = {
            "limit": curve.limits,
            "share": curve.share,
            "low": curve.low,
            "high": curve.high,
        }
        frames.append(pd.DataFrame(columns).assign(family=family, kind="predicted"))
        x, share = steps(thin)
        frames.append(pd.DataFrame({"limit": x, "share": share}).assign(family=family, kind="seen"))
    order = ["family", "kind", "limit", "share", "low", "high"]
    return pd.concat(frames).reindex(columns=order).assign(unit=unit)
