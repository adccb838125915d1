"""All claims at print size: each in its interval against its margin, named beside its line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.article import print_style, style
from workbench.article.figures.forest import OF, alternative, grouped, plotted, set_limits, undrawn
from workbench.article.names import quantity_label
from workbench.article.numbers import as_shown, known, percent, verdict_words
from workbench.article.picture import Picture, finish
from workbench.article.text import distinct_labels, drawable
from workbench.article.zones import SUPPORTED, boundaries, zones

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from workbench.article.print_style import Width
    from workbench.claims.judgement import Judgement
    from workbench.claims.verdict import Verdict
    from workbench.records.settings import Settings

ROW, PANEL = 8.5, 10.5  # mm a claim, and around the claims of a panel
LINE = 3.2  # mm, each further line of an axis label
BEHIND = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}
MOST = 18  # claims that fit a page; the table holds all


def printed_ledger(judgement: Judgement, settings: Settings, width: Width) -> Picture:
    """Draw every claim with an estimate at a width of print, each quantity on its own axis."""
    with print_style.drawing():
        there = [as_shown(verdict) for verdict in judgement.verdicts if verdict.has_numbers]
        panels = grouped(there[:MOST])
        rows = [len(panel) for panel in panels.values()] or [1]
        labels = [
            style.with_unit(f"{quantity_label(settings, quantity)}: {OF[of]}", unit)
            for quantity, of, unit in panels
        ]
        more = sum(len(label) * print_style.SIGN // width.mm for label in labels)
        height = ROW * sum(rows) + PANEL * len(rows) + LINE * more + 2
        figure = print_style.sheet(width, height)
        grid = figure.subplots(len(rows), 1, squeeze=False, height_ratios=rows)[:, 0]
        for axes, label, panel in zip(grid, labels, panels.values(), strict=False):
            draw_panel(axes, panel)
            print_style.value_axis(axes, label)
        if not panels:
            grid[0].axis("off")
            grid[0].text(0.5, 0.5, "No claim has an estimate.", ha="center", va="center")
        return finish(
            figure,
            alt=alternative(judgement),
            caption=caption(judgement, len(there)),
            data=plotted(there[:MOST]),
        )


def draw_panel(axes: Axes, panel: Sequence[Verdict]) -> None:
    """Draw the claims that share a quantity and a unit."""
    set_limits(axes, panel)
    left, right = axes.get_xlim()
    axes.axvline(0, color=style.SOFT, linewidth=0.6, linestyle=(0, (4, 3)), zorder=1)
    names = distinct_labels((verdict.claim for verdict in panel), 40, 1)
    for place, (verdict, name) in enumerate(zip(panel, names, strict=True)):
        look = style.OUTCOMES[verdict.outcome]
        for zone in zones(verdict.direction, verdict.margin):
            if zone.outcome == SUPPORTED:
                low, high = max(zone.low, left), min(zone.high, right)
                axes.barh(place + 0.16, high - low, left=low, height=0.5, color=style.SHADE)
        for line in boundaries(verdict.direction, verdict.margin):
            axes.plot([line] * 2, [place - 0.09, place + 0.41], color=style.INK, linewidth=0.9)
        low, high = max(verdict.low, left), min(verdict.high, right)
        axes.plot([low, high], [place + 0.16] * 2, color=look.colour, linewidth=2.0)
        for end, drawn, arrow in ((verdict.low, low, "<"), (verdict.high, high, ">")):
            mark = "|" if known(end) else arrow
            axes.plot([drawn], [place + 0.16], mark, color=look.colour, markersize=5.5)
        axes.plot(
            [verdict.estimate],
            [place + 0.16],
            look.marker,
            color=look.colour,
            markerfacecolor="white",
            markeredgewidth=1.1,
            markersize=4.8,
        )
        axes.annotate(
            f"{name}: {verdict.outcome}",
            (0.0, place - 0.13),
            xycoords=("axes fraction", "data"),
            va="bottom",
            fontsize=print_style.SMALL,
            fontweight="bold",
            bbox=BEHIND,
        )
        axes.annotate(
            drawable(verdict_words(verdict, verdict)),
            (1.0, place - 0.13),
            xycoords=("axes fraction", "data"),
            ha="right",
            va="bottom",
            fontsize=print_style.SMALL,
            bbox=BEHIND,
        )
    axes.set_ylim(len(panel) - 0.5, -0.62)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)


def caption(judgement: Judgement, there: int) -> str:
    """Say how the figure is to be read, and what is not on it."""
    beyond = f" The first {MOST} of {there} are drawn." if there > MOST else ""
    return (
        f"Lines are {percent(judgement.confidence)} intervals of the candidate against the "
        "reference, the short upright stroke the margin of the claim, the broken line no "
        "difference. A line wholly in the shaded part supports its claim; one across the margin "
        f"leaves it unresolved.{beyond}{undrawn(judgement)}"
    )
