"""Which input moves the difference between two families most: one by one, and jointly."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import pandas as pd

from workbench.article import style
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, distinct_labels, wrapped
from workbench.errors import Refusal
from workbench.worth.sensitivity import DIFFERENCE, CostSensitivity
from workbench.worth.wording import money_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.inference.decision.sensitivity import SobolIndex, Swing
    from workbench.worth.answer import PairAnswer

MOST = 8
BAR = 0.36


def cost_sensitivity(pair: PairAnswer, currency: str, *, footer: str = "") -> Picture:
    """Draw the swings of the difference, and beside them the Sobol indices where there are any.

    Raises
    ------
    Refusal
        `nothing_to_draw` where nothing moves the difference.
    """
    found = pair.sensitivity
    swings = [] if found is None else [s for s in found.swings if s.width > 0][:MOST]
    if found is None or not swings:
        raise Refusal("nothing_to_draw", "Nothing that is not known moves the difference.")
    indices = _indices(found)
    names = f"{pair.comparison.premium.label} against {pair.comparison.ordinary.label}"
    with style.drawing():
        figure = style.sheet(
            1.7 + BAR * len(swings), title=f"What moves the difference: {names}", footer=footer
        )
        panels = figure.subplots(1, 2 if indices else 1, squeeze=False, sharey=True)[0]
        _swings(panels[0], swings)
        labels = distinct_labels((found.names[swing.name] for swing in swings), 34, 2)
        panels[0].set_yticks(range(len(swings)), labels, fontsize=8.5)
        panels[0].set_ylim(len(swings) - 0.4, -0.6)
        style.value_axis(
            panels[0], f"difference in cost per usable block ({wrapped(currency, 20, 1)})"
        )
        if indices:
            _shares(panels[1], swings, indices)
            style.value_axis(panels[1], f"share of {_of(found)} (%)")
        return finish(
            figure,
            alt=_alternative(names, swings, found, currency),
            caption=_caption(found, bool(indices)),
            data=_data(swings, indices, found),
        )


def _indices(found: CostSensitivity) -> dict[str, SobolIndex]:
    if found.indices is None or isinstance(found.indices, Refusal):
        return {}
    if found.outcome != DIFFERENCE and not found.balanced:
        return {}
    return {index.name: index for index in found.indices}


def _of(found: CostSensitivity) -> str:
    return "the variance" if found.outcome == DIFFERENCE else "the choice"


def _swings(axes: Axes, swings: Sequence[Swing]) -> None:
    ends = [e for s in swings for e in (s.at_low, s.at_high, s.middle) if math.isfinite(e)]
    low, high = min(ends), max(ends)
    room = 0.08 * (high - low) or 1.0
    axes.set_xlim(low - room, high + room)
    for place, swing in enumerate(swings):
        a, b = (min(max(end, low), high) for end in (swing.at_low, swing.at_high))
        axes.barh(place, b - a, left=a, height=0.6, color=style.SHADE, edgecolor=style.INK, lw=0.9)
        axes.plot([a], [place], "o", color=style.BLUE, markersize=5)
        axes.plot([b], [place], "D", color=style.VERMILLION, markersize=5)
    axes.axvline(swings[0].middle, color=style.SOFT, linewidth=0.9, linestyle=(0, (1, 2)))
    if low < 0 < high:
        axes.axvline(0, color=style.INK, linewidth=1)
    _explain(axes)


def _explain(axes: Axes) -> None:
    from matplotlib.lines import Line2D

    ends = (("input low", "o", style.BLUE), ("input high", "D", style.VERMILLION))
    style.key(
        axes,
        [
            Line2D([], [], marker=marker, color=colour, linestyle="none", label=label)
            for label, marker, colour in ends
        ],
    )


def _shares(axes: Axes, swings: Sequence[Swing], indices: dict[str, SobolIndex]) -> None:
    from matplotlib.patches import Patch

    for place, swing in enumerate(swings):
        index = indices[swing.name]
        total, first = (100 * min(1.0, max(0.0, share)) for share in (index.total, index.first))
        axes.barh(place, total, height=0.6, color="white", edgecolor=style.INK, hatch="///", lw=0.9)
        axes.barh(place, min(first, total), height=0.6, color=style.BLUE)
        axes.plot(
            [
                max(0.0, total - 200 * index.total_error),
                min(100.0, total + 200 * index.total_error),
            ],
            [place] * 2,
            color=style.INK,
            linewidth=1,
        )
    axes.set_xlim(0, 104)
    style.key(
        axes,
        [
            Patch(facecolor=style.BLUE, label="alone"),
            Patch(facecolor="white", edgecolor=style.INK, hatch="///", label="with others"),
        ],
    )


def _alternative(names: str, swings: Sequence[Swing], found: CostSensitivity, currency: str) -> str:
    said = "; ".join(
        f"{clean(found.names[s.name], 80)} from {_ends(s, currency)}"
        f"{', which turns the choice' if s.turns else ''}"
        for s in swings
    )
    return f"Ranked bars of what moves the difference, {clean(names, 120)}: {said}."


def _ends(swing: Swing, currency: str) -> str:
    spread = swing.width / 4 if math.isfinite(swing.width) else 0.0
    low, high = sorted((swing.at_low, swing.at_high))
    return f"{money_text(low, currency, spread)} to {money_text(high, currency, spread)}"


def _caption(found: CostSensitivity, jointly: bool) -> str:
    said = (
        "The difference with one input at the low and the high end of the middle nine in ten of "
        "what it may be, all others in the middle (dotted)."
    )
    if jointly:
        said += (
            f" Right: Sobol indices, the share of {_of(found)} that goes with an input alone "
            "(plain) and together with others (hatched); the line is two standard errors either "
            "way."
        )
    return said


def _data(
    swings: Sequence[Swing], indices: dict[str, SobolIndex], found: CostSensitivity
) -> pd.DataFrame:
    rows = []
    for swing in swings:
        index = indices.get(swing.name)
        joint = (
            (math.nan,) * 4
            if index is None
            else (index.first, index.first_error, index.total, index.total_error)
        )
        rows.append((found.names[swing.name], swing.at_low, swing.middle, swing.at_high, *joint))
    columns = ["input", "at_low", "middle", "at_high", "first", "first_error", "total"]
    return pd.DataFrame(rows, columns=[*columns, "total_error"])
