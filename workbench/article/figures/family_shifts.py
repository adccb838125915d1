"""The core shift of every block, a small drawing a family, all to one scale."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.block_words import direction_text, shift_text
from workbench.article.compass import draw_region, drawn_at
from workbench.article.numbers import percent
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted, distinct_labels
from workbench.castings.bores.shift_of_family import FamilyShift

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matplotlib.axes import Axes

    from workbench.records.settings import Settings

ACROSS = 3
MOST = 9  # families drawn
MOST_DOTS = 400  # blocks drawn in a family
PANEL = 2.75  # inches
BEYOND = "the region reaches beyond the drawing"
RINGS = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)


def family_shifts(
    families: Sequence[FamilyShift],
    settings: Settings,
    *,
    confidence: float = 0.95,
    labels: Mapping[str, str] | None = None,
    footer: str = "",
) -> Picture:
    """Draw where the cores of each family lie: one mark a block, the family's mean and its region.

    Parameters
    ----------
    families
        From `shift_of_family`, one family or more.
    settings
        For the labels.
    confidence
        Of the regions.
    labels
        What all families of the study are called; those drawn where left out.
    footer
        What a reader needs to make the figure again: version.
    """
    drawn = tuple(families)[:MOST]
    names = tuple(one.family for one in families)
    looks = style.looks(names, labels or settings.family_labels(names))
    reach = 1.08 * max(_reach(one, confidence) for one in drawn)
    rows = math.ceil(len(drawn) / ACROSS)
    with style.drawing():
        figure = style.sheet(
            1.0 + PANEL * rows, title="Core shift of each block, by family", footer=footer
        )
        panels = figure.subplots(rows, min(ACROSS, len(drawn)), squeeze=False).ravel()
        heads = distinct_labels((settings.family_label(one.family) for one in drawn), 24, 2)
        for axes, one, head in zip(panels, drawn, heads, strict=False):
            _draw(axes, one, looks[one.family], reach, confidence)
            axes.set_title(f"{head}\n{counted(len(one.blocks), 'block')}", fontsize=9)
        for axes in panels[len(drawn) :]:
            axes.set_visible(False)
        return finish(
            figure,
            alt=_alternative(families, settings, confidence),
            caption=_caption(families, confidence),
            data=_data(families),
        )


def _reach(one: FamilyShift, confidence: float) -> float:
    far = float(one.blocks["size"].max())
    if one.mean is None:
        return far
    region = one.mean.region(confidence)
    return max(far, one.mean.size + min(region.major, far))


def _draw(axes: Axes, one: FamilyShift, look: style.Look, reach: float, confidence: float) -> None:
    turn = np.linspace(0, 2 * math.pi, 121)
    rings = [ring for ring in RINGS if ring <= 0.9 * reach][-2:] or [reach]
    for ring in rings:
        axes.plot(ring * np.cos(turn), ring * np.sin(turn), color=style.FAINT, linewidth=0.8)
        axes.text(
            0.0,
            -ring,
            f"{ring:g} {one.unit}",
            fontsize=7.5,
            color=style.SOFT,
            ha="center",
            va="center",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
        )
    axes.axhline(0, color=style.FAINT, linewidth=0.8, zorder=0)
    axes.axvline(0, color=style.FAINT, linewidth=0.8, zorder=0)
    shown = one.blocks.iloc[:MOST_DOTS]
    x, y = drawn_at(shown["x"].to_numpy(float), shown["y"].to_numpy(float))
    axes.scatter(
        x,
        y,
        s=18,
        marker=look.marker,
        facecolor="white",
        edgecolor=look.colour,
        linewidths=1.0,
    )
    if one.mean is not None:
        region = one.mean.region(confidence)
        draw_region(axes, region, 1.0, (0.0, 0.0))
        if one.mean.size + region.major > math.sqrt(2) * reach:
            axes.text(
                0.0, 0.95 * reach, BEYOND, ha="center", va="top", fontsize=7.5, color=style.INK
            )
        across, up = drawn_at(one.mean.x, one.mean.y)
        axes.plot([across], [up], marker="P", markersize=8, color=style.INK)
    axes.set_xlim(-reach, reach)
    axes.set_ylim(-reach, reach)
    axes.set_aspect("equal")
    axes.set_xticks([])
    axes.set_yticks([])
    axes.set_xlabel(f"front (0°)  ←  shift ({one.unit})  →  180°", fontsize=7.5)
    axes.set_ylabel("270°  ←  →  90°", fontsize=7.5)
    for spine in axes.spines.values():
        spine.set_visible(True)


def _data(families: Sequence[FamilyShift]) -> pd.DataFrame:
    columns = ["family", "block", "bores", "x", "y", "size", "direction"]
    return pd.concat(
        [one.blocks[columns].assign(unit=one.unit) for one in families], ignore_index=True
    )


def _alternative(families: Sequence[FamilyShift], settings: Settings, confidence: float) -> str:
    said = []
    for one in families:
        label = clean(settings.family_label(one.family), 80)
        blocks = counted(len(one.blocks), "block")
        if one.mean is None:
            said.append(f"{label} ({blocks}): {one.not_answered.get('mean', 'no mean')}")
        else:
            said.append(
                f"{label} ({blocks}): mean shift {shift_text(one.mean, one.unit, confidence)} "
                f"towards {direction_text(one.mean.direction)}"
            )
    return (
        "Small drawings, one a family, of the mean core shift of each block as seen from the deck, "
        f"with {percent(confidence)} regions of the family means: {'; '.join(said)}."
    )


def _caption(families: Sequence[FamilyShift], confidence: float) -> str:
    left = ""
    if len(families) > MOST:
        left = f" {MOST} of {len(families)} families drawn."
    if any(len(one.blocks) > MOST_DOTS for one in families):
        left += f" At most {MOST_DOTS} blocks of a family drawn."
    return (
        "A mark is the mean shift of one block's bores; it points to where the wall is thin, as "
        "seen from the deck with the front to the left. The plus is the mean of the family, the "
        f"dashed ellipse its {percent(confidence)} region; where that holds the crossing of the "
        f"lines, no common shift is shown.{left}"
    )
