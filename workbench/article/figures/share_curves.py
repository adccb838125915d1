"""The share below any limit, counted family by family, and the limit a claim names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.article import style
from workbench.article.numbers import percent, share_words
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted
from workbench.inference.results import Interval
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEIGHT = 4.2
LINES = ("-", "--")
MARKS = 8
ROOM = 0.04  # of the axes, left free at the ends
TAIL, TAIL_TIMES, LEAST_TAIL = 0.4, 3.0, 0.02  # where all is in one tail, that is drawn alone


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FamilyShare:
    """The values of one family's units, sorted, each with its weight; blocks count alike."""

    family: str
    label: str
    blocks: int
    numbers: NDArray[np.float64]
    weights: NDArray[np.float64]
    share: float
    interval: Interval | None

    @property
    def below(self) -> NDArray[np.float64]:
        """The share at or below each value."""
        return np.asarray(np.cumsum(self.weights), dtype=float)


def share_curves(
    families: Sequence[FamilyShare],
    quantity: str,
    unit: str,
    *,
    limit: float,
    of: str,
    confidence: float,
    labels: Mapping[str, str] | None = None,
    footer: str = "",
) -> Picture:
    """Draw how the share below grows with the limit, and where the claim's limit cuts.

    Parameters
    ----------
    families
        Candidate and reference.
    quantity, unit
        The label of the quantity, and the unit of its values.
    limit
        The threshold of the claim.
    of
        Of what the share is: places, bores or blocks.
    confidence
        Of the intervals at the limit.
    labels
        What all families of the study are called; those drawn where left out.
    footer
        What a reader needs to make the figure again.
    """
    with style.drawing():
        labels = labels or {one.family: one.label for one in families}
        looks = style.looks([one.family for one in families], labels)
        figure = style.sheet(
            HEIGHT, title=f"{quantity}: share of {of} below a limit, counted", footer=footer
        )
        axes = figure.add_subplot()
        (left, right), (bottom, top) = drawn_range(families, limit)
        room = ROOM * (right - left) or 1.0
        axes.set_xlim(left - room, right + room)
        for place, one in enumerate(families):
            draw(axes, one, looks[one.family], place, limit, room)
        axes.axvline(limit, color=style.INK, linewidth=1.3, linestyle=(0, (5, 3)))
        axes.annotate(
            f"limit of the claim: {quantity_text(limit, unit=unit)}",
            (limit, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(5, -4),
            textcoords="offset points",
            va="top",
            fontsize=8,
            color=style.SOFT,
        )
        edge = ROOM * (top - bottom)
        axes.set_ylim(bottom - edge, top + edge)
        axes.set_ylabel(f"{of} below (%)")
        style.value_axis(axes, style.with_unit("limit", unit))
        axes.grid(visible=True, axis="y")
        style.key(axes, axes.get_legend_handles_labels()[0])
        words = "; ".join(
            f"{clean(one.label, 60)} {share_words(one.share, *_ends(one))} "
            f"({counted(one.blocks, 'block')})"
            for one in families
        )
        return finish(
            figure,
            alt=f"Step curves of the share of {of} with a {quantity.lower()} below a limit. At "
            f"{quantity_text(limit, unit=unit)}: {words}.",
            caption=f"Blocks count alike within their family, {of} alike within their block. Marks "
            f"with bars at the limit of the claim: the share and its {percent(confidence)} "
            f"interval, drawn side by side: {words}."
            + (
                " Only the tail the limit lies in is drawn."
                if (bottom, top) != (0.0, 100.0)
                else ""
            ),
            data=plotted(families, unit, limit),
        )


def drawn_range(
    families: Sequence[FamilyShare], limit: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Give the limits and shares (%) drawn: all of them, or the tail the claim's limit is in."""
    values = np.sort(np.concatenate([one.numbers for one in families]))
    left, right = min(float(values[0]), limit), max(float(values[-1]), limit)
    ends = [end for one in families for end in (one.share, *_ends(one)) if end is not None]
    top = TAIL_TIMES * max(*ends, LEAST_TAIL)
    if top < TAIL:
        reached = [_first_above(one, top) for one in families]
        return (left, max(limit, *reached)), (0.0, 100 * top)
    bottom = 1 - TAIL_TIMES * max(1 - min(ends), LEAST_TAIL)
    if bottom > 1 - TAIL:
        reached = [_first_above(one, bottom) for one in families]
        return (min(limit, *reached), right), (100 * bottom, 100.0)
    return (left, right), (0.0, 100.0)


def _first_above(one: FamilyShare, share: float) -> float:
    """Give the least value of a family at which its share below has reached `share`."""
    return float(one.numbers[min(int(np.searchsorted(one.below, share)), one.numbers.size - 1)])


def _ends(one: FamilyShare) -> tuple[float | None, float | None]:
    return (one.interval.low, one.interval.high) if one.interval else (None, None)


def draw(
    axes: Axes, one: FamilyShare, look: style.Look, place: int, limit: float, room: float
) -> None:
    """Draw the steps of one family, and its share with its interval beside the limit."""
    x = np.concatenate([[axes.get_xlim()[0]], one.numbers, [axes.get_xlim()[1]]])
    y = 100 * np.concatenate([[0.0], one.below, [1.0]])
    axes.step(
        x,
        y,
        where="post",
        linestyle=LINES[place % len(LINES)],
        color=look.colour,
        marker=look.marker,
        markevery=_marked(x, axes.get_xlim()),
        markersize=5,
        markerfacecolor="white",
        linewidth=1.5,
        label=look.label,
    )
    at = limit + (place - 0.5) * 0.5 * room
    if one.interval is not None:
        axes.plot(
            [at, at],
            [100 * one.interval.low, 100 * one.interval.high],
            color=look.colour,
            linewidth=2.2,
            marker="_",
            markersize=8,
        )
    axes.plot(
        [at],
        [100 * one.share],
        marker=look.marker,
        color=look.colour,
        markerfacecolor="white",
        markeredgewidth=1.8,
        markersize=8,
        zorder=4,
    )


def _marked(x: NDArray[np.float64], ends: tuple[float, float]) -> list[int]:
    """Choose the steps that carry the family's mark: some of those drawn."""
    inside = np.flatnonzero((x > ends[0]) & (x < ends[1]))
    return [int(at) for at in inside[:: max(1, inside.size // MARKS)]]


def plotted(families: Sequence[FamilyShare], unit: str, limit: float) -> pd.DataFrame:
    """Give the numbers drawn: the steps, and the shares at the limit."""
    steps = [
        pd.DataFrame({"limit": one.numbers, "share": one.below}).assign(
            family=one.family, low=np.nan, high=np.nan
        )
        for one in families
    ]
    at = pd.DataFrame(
        [
            {
                "limit": limit,
                "share": one.share,
                "family": one.family,
                "low": one.interval.low if one.interval else np.nan,
                "high": one.interval.high if one.interval else np.nan,
            }
            for one in families
        ]
    )
    return pd.concat([*steps, at], ignore_index=True).assign(unit=unit)
