"""One page on one block, to hand over with it: plan, maps, fitness, room for boring, cautions."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pandas as pd

from workbench.article import style
from workbench.article.block_tables import bores_table, place_table
from workbench.article.block_words import OUTCOMES, family_words, shift_words, unusual_words
from workbench.article.figures.block_plan import draw_plan
from workbench.article.figures.bore_maps import draw_maps, thinnest_maps
from workbench.article.figures.overbore import curve_of, draw_overbore
from workbench.article.picture import Picture, finish
from workbench.article.printed_table import POINTS, draw_table, fitted, letters_across
from workbench.article.sheet_tables import bore_room_on_sheet, boring_on_sheet, fitness_on_sheet
from workbench.article.text import clean, wrapped
from workbench.errors import Refusal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.gridspec import SubplotSpec

    from workbench.castings.block_report import BlockReport
    from workbench.castings.bores.wall_map import WallMap
    from workbench.records.settings import Settings

PAGE = (8.27, 11.69)  # inches: A4
ACROSS = 4  # maps in a row
MOST = 8  # maps
SAID, OUTCOME = 8.0, 8.5  # size of letters: in place of a drawing, of the outcomes
HEIGHTS = (1.55, 1.3, 2.4, 1.75, 2.2, 1.55)  # plan, one row of maps, three rows of tables, words
GAPS = (0.46, 0.5, 0.5, 0.05, 0.05, 0.01)  # below each


def block_sheet(
    report: BlockReport, maps: Mapping[str, WallMap], settings: Settings, *, footer: str = ""
) -> Picture:
    """Draw the sheet of one block on one page.

    What cannot be drawn is said in its place, with the reason.

    Parameters
    ----------
    report
        The block.
    maps
        Its bores that have a map; beyond `MOST` those with the thinnest places are drawn.
    settings
        Of the study: its drawing, its labels.
    footer
        What a reader needs to make the sheet again: version.
    """
    kept = thinnest_maps(maps, MOST)
    rows = max(1, math.ceil(len(kept) / ACROSS))
    with style.drawing():
        figure = _page(report, settings, footer)
        parts = [HEIGHTS[0], *[HEIGHTS[1]] * rows, *HEIGHTS[2:]]
        gaps = [GAPS[0], *[GAPS[1]] * rows, *GAPS[2:]]
        heights = [height for pair in zip(parts, gaps, strict=True) for height in pair]
        whole = figure.add_gridspec(
            len(heights),
            1,
            height_ratios=heights,
            left=0.065,
            right=0.97,
            top=0.915,
            bottom=0.03,
            hspace=0,
        )
        grid = [whole[2 * at] for at in range(len(parts))]
        _plan(figure.add_subplot(grid[0]), report, maps, settings)
        _maps(figure, grid[1 : 1 + rows], report, kept, settings)
        _tables(figure, grid[1 + rows : 4 + rows], report)
        _words(figure.add_subplot(grid[4 + rows]), report)
        return finish(
            figure,
            alt=_alternative(report, settings),
            caption=f"The sheet of block {clean(report.block, 80)}. {' '.join(report.cautions)}",
            data=_data(report),
        )


def _page(report: BlockReport, settings: Settings, footer: str) -> Figure:
    figure = style.sheet(PAGE[1], title="", footer=footer, width=PAGE[0])
    figure.set_layout_engine("none")
    figure.text(0.065, 0.975, wrapped(f"Block {family_words(report, settings)}", 64, 1), va="top")
    figure.texts[-1].set(fontsize=14, fontweight="bold")
    figure.text(0.065, 0.948, wrapped(settings.title, 110, 1), fontsize=8.5, va="top")
    outcomes = "  ·  ".join(
        f"{clean(duty.label, 40)}: {OUTCOMES[duty.outcome].upper()}" for duty in report.fitness
    )
    letters = 0.9 * PAGE[0] * POINTS / OUTCOME
    figure.text(0.065, 0.934, fitted(outcomes or "No duty is stated.", letters, 2, bold=True))
    figure.texts[-1].set(fontsize=OUTCOME, fontweight="bold", va="top")
    return figure


def _plan(axes: Axes, report: BlockReport, maps: Mapping[str, WallMap], settings: Settings) -> None:
    try:
        _, enlarged = draw_plan(axes, report, maps, settings.drawing, size=7)
    except Refusal as refusal:
        _instead(axes, f"No plan. {refusal}")
        return
    axes.figure.text(
        0.065,
        axes.get_position(original=True).y0 - 0.01,
        f"Seen from the deck, to scale. Crosses are thinnest estimated places ({report.unit}), "
        f"arrows core shifts, {enlarged} times enlarged, with their regions. Maps: dark is thin.",
        fontsize=7,
    )


def _maps(
    figure: Figure,
    rows: list[SubplotSpec],
    report: BlockReport,
    kept: Mapping[str, WallMap],
    settings: Settings,
) -> None:
    if not kept:
        why = report.not_answered.get("walls", "No wall was read.")
        _instead(figure.add_subplot(rows[0]), f"No map of the walls. {why}")
        return
    parts = [row.subgridspec(1, ACROSS, wspace=0.16) for row in rows]
    panels = [figure.add_subplot(parts[at // ACROSS][at % ACROSS]) for at in range(len(kept))]
    draw_maps(panels, kept, settings, report.step, across=ACROSS)


def _tables(figure: Figure, rows: list[SubplotSpec], report: BlockReport) -> None:
    upper = rows[0].subgridspec(1, 3, width_ratios=[1.6, 0.8, 0.22], wspace=0.22)
    draw_table(
        figure.add_subplot(upper[0]),
        fitness_on_sheet(report),
        (0, 1, 2, 3, 4, 5),
        size=7,
        most=8,
    )
    right = figure.add_subplot(upper[1])
    if report.duty_shown is None:
        why = report.not_answered.get("boring") or report.not_answered.get("walls", "")
        _instead(right, f"No room for boring is known. {why}")
    else:
        draw_overbore(right, report, curve_of(report), size=6.5)
        right.tick_params(labelsize=7)
        right.xaxis.label.set_fontsize(7.5)
        right.yaxis.label.set_fontsize(7.5)
    boring = boring_on_sheet(report)
    every = tuple(range(len(boring.columns)))
    draw_table(figure.add_subplot(rows[1]), boring, every, size=7, most=7, note=boring.note)
    lower = rows[2].subgridspec(1, 3, width_ratios=[1.35, 1.35, 1], wspace=0.08)
    draw_table(
        figure.add_subplot(lower[0]),
        place_table(report),
        (0, 1, 2, 3),
        size=6.5,
        most=7,
    )
    draw_table(
        figure.add_subplot(lower[1]),
        bores_table(report),
        (0, 1, 3, 4),
        size=6.5,
        most=6,
    )
    room = bore_room_on_sheet(report)
    draw_table(figure.add_subplot(lower[2]), room, (0, 1, 2, 3), size=6.5, most=6, note=room.note)


def _notes(report: BlockReport) -> str:
    """Say where limits come from, once for the duties that share a note."""
    by_note: dict[str, list[str]] = {}
    for duty in report.fitness:
        by_note.setdefault(duty.note, []).append(duty.label)
    return "; ".join(f"{', '.join(labels)}: {note}" for note, labels in by_note.items())


def _words(axes: Axes, report: BlockReport) -> None:
    axes.set_axis_off()
    left = "; ".join(
        f"{what.replace('_', ' ')}: {why.rstrip('.')}"
        for what, why in report.not_answered.items()
        if what != "boring"  # said in its place
    )
    said = [f"Limits: {_notes(report)}.", unusual_words(report), shift_words(report)]
    said += [f"Not answered: {left}."] if left else []
    text = "\n".join(wrapped(part, 140, 3) for part in said if part)
    cautions = "\n".join(wrapped(part, 118, 2) for part in report.cautions)
    axes.text(0, 1.0, text, fontsize=7, va="top")
    axes.text(0, -0.1, f"Cautions\n{cautions}", fontsize=7.5, va="bottom", fontweight="bold")
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1)


def _instead(axes: Axes, text: str) -> None:
    """Say in words what cannot be drawn."""
    axes.set_axis_off()
    letters = letters_across(axes, SAID)
    axes.text(0, 0.5, fitted(text, letters, 5), fontsize=SAID, va="center")
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1)


def _data(report: BlockReport) -> pd.DataFrame:
    rows = [
        (
            *(duty.label, rule.rule),
            math.nan if rule.figure is None else rule.figure.value,
            *(rule.margin, rule.risk, rule.unit, rule.outcome),
        )
        for duty in report.fitness
        for rule in duty.rules
    ]
    return pd.DataFrame(
        rows, columns=["duty", "rule", "value", "margin", "risk", "unit", "outcome"]
    )


def _alternative(report: BlockReport, settings: Settings) -> str:
    outcomes = "; ".join(
        f"{clean(duty.label, 60)}: {OUTCOMES[duty.outcome]}" for duty in report.fitness
    )
    return (
        f"One page on block {clean(family_words(report, settings), 160)}: plan, maps of its bores, "
        f"fitness, room for boring, place in its family, cautions. {outcomes or 'No duty stated'}. "
        f"{unusual_words(report)}"
    )
