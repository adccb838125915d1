"""All claims at a glance: each difference in its interval, beside the zone that would support it.

Claims on one quantity share an axis in its unit; units are never mixed, and nothing is rescaled.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.article import style
from workbench.article.names import quantity_label
from workbench.article.numbers import as_shown, known, percent, verdict_words
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted, distinct_labels, wrapped
from workbench.article.zones import SUPPORTED, boundaries, zones

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from matplotlib.axes import Axes

    from workbench.claims.judgement import Judgement
    from workbench.claims.verdict import Verdict
    from workbench.records.settings import Settings

ROW = 0.56  # inches a claim
PANEL = 0.62  # inches around the rows of a panel
MOST = 60  # claims drawn; the table holds all
LABEL_SIGNS, LABEL_LINES = 40, 3
OF = {
    "mean": "candidate minus reference",
    "spread": "spread, candidate against reference",
    "thinnest": "thinnest place, candidate minus reference",
    "share_below": "share below, candidate minus reference",
}


def forest(judgement: Judgement, settings: Settings, *, footer: str = "") -> Picture:
    """Draw every claim of a judgement with its interval, its margin and its outcome.

    Parameters
    ----------
    judgement
        The verdicts on a ledger, in its order.
    settings
        The study's settings: labels of the quantities.
    footer
        What a reader needs to make the figure again: seed and version.
    """
    with style.drawing():
        verdicts = [as_shown(v) for v in judgement.verdicts[:MOST] if v.has_numbers]
        panels = grouped(verdicts)
        rows = [len(panel) for panel in panels.values()] or [1]
        figure = style.sheet(
            0.75 + PANEL * len(rows) + ROW * sum(rows),
            title=f"All claims: {tally(judgement)}",
            footer=footer,
        )
        grid = figure.subplots(len(rows), 1, squeeze=False, height_ratios=rows)
        for axes, ((quantity, of, unit), panel) in zip(grid[:, 0], panels.items(), strict=False):
            draw_panel(axes, panel, f"{quantity_label(settings, quantity)}: {OF[of]}", unit)
        if not panels:
            grid[0, 0].axis("off")
            grid[0, 0].annotate(
                "No claim has an estimate.", (0.5, 0.5), xycoords="axes fraction", ha="center"
            )
        return finish(
            figure,
            alt=alternative(judgement),
            caption=caption(judgement),
            data=plotted([as_shown(verdict) for verdict in judgement.verdicts]),
        )


def grouped(verdicts: Sequence[Verdict]) -> dict[tuple[str, str, str], list[Verdict]]:
    """Group verdicts by quantity, figure and unit, in the order of their first claim."""
    panels: dict[tuple[str, str, str], list[Verdict]] = {}
    for verdict in verdicts:
        panels.setdefault((verdict.quantity, verdict.figure, verdict.unit), []).append(verdict)
    return panels


def draw_panel(axes: Axes, panel: Sequence[Verdict], label: str, unit: str) -> None:
    """Draw the claims that share a quantity and a unit."""
    set_limits(axes, panel)
    for place, verdict in enumerate(panel):
        draw_claim(axes, verdict, place)
    axes.axvline(0, color=style.SOFT, linewidth=0.9, zorder=1)
    axes.set_ylim(len(panel) - 0.5, -0.5)
    labels = distinct_labels((f"{v.claim}: {v.statement}" for v in panel), LABEL_SIGNS, LABEL_LINES)
    axes.set_yticks(range(len(panel)), labels, fontsize=8.5)
    axes.tick_params(axis="y", length=0)
    axes.locator_params(axis="x", nbins=6)
    style.value_axis(axes, style.with_unit(label, unit))


def set_limits(axes: Axes, panel: Sequence[Verdict]) -> None:
    """Make room for every finite end and margin."""
    ends = [0.0]
    for verdict in panel:
        ends += boundaries(verdict.direction, verdict.margin)
        ends += [e for e in (verdict.estimate, verdict.low, verdict.high) if known(e)]
    room = 0.08 * (max(ends) - min(ends)) or 1.0
    axes.set_xlim(min(ends) - room, max(ends) + room)


def draw_claim(axes: Axes, verdict: Verdict, place: int) -> None:
    """Draw one claim: the zone of support, the margin, the interval, the outcome in a word."""
    left, right = axes.get_xlim()
    look = style.OUTCOMES[verdict.outcome]
    for zone in zones(verdict.direction, verdict.margin):
        if zone.outcome == SUPPORTED:
            low, high = max(zone.low, left), min(zone.high, right)
            axes.barh(place, high - low, left=low, height=0.7, color=style.SHADE, zorder=0)
    for line in boundaries(verdict.direction, verdict.margin):
        axes.plot(
            [line, line], [place - 0.35, place + 0.35], color=style.INK, linewidth=1.2, zorder=2
        )
    low, high = max(verdict.low, left), min(verdict.high, right)
    axes.plot([low, high], [place, place], color=look.colour, linewidth=2.4, zorder=3)
    for end, drawn, arrow in ((verdict.low, low, "<"), (verdict.high, high, ">")):
        mark = "|" if known(end) else arrow
        axes.plot([drawn], [place], mark, color=look.colour, markersize=8, zorder=3)
    axes.plot(
        [verdict.estimate],
        [place],
        marker=look.marker,
        color=look.colour,
        markerfacecolor="white",
        markeredgewidth=1.6,
        markersize=8,
        zorder=4,
    )
    words: str = verdict.outcome
    if verdict.stands_after_adjustment is False:
        words += ", not after adjustment"
    numbers = verdict_words(verdict, verdict)
    axes.annotate(
        f"{words}\n{wrapped(numbers, 38, 2)}",
        (1.012, place),
        xycoords=("axes fraction", "data"),
        va="center",
        fontsize=8.5,
        annotation_clip=False,
    )


def tally(judgement: Judgement) -> str:
    """Count the outcomes."""
    outcomes = [verdict.outcome for verdict in judgement.verdicts]
    return ", ".join(f"{outcomes.count(outcome)} {outcome}" for outcome in style.OUTCOMES)


def undrawn(judgement: Judgement) -> str:
    """Name the claims that could not be drawn, because they have no estimate or are too many."""
    words = ""
    bare = [clean(v.claim, 60) for v in judgement.verdicts if not v.has_numbers]
    if bare:
        words += f" Without an estimate and so not drawn: {', '.join(bare)}."
    if len(judgement.verdicts) > MOST:
        words += f" Only the first {MOST} of {len(judgement.verdicts)} claims are looked at here."
    return words


def alternative(judgement: Judgement) -> str:
    """Say the figure in words: type, counts of outcomes, each claim with its interval."""
    lines = [
        f"{clean(v.claim, 60)} {v.outcome}: {verdict_words(v, v)}"
        for v in judgement.verdicts[:MOST]
        if v.has_numbers
    ]
    return (
        f"Forest plot of {counted(len(judgement.verdicts), 'claim')}: {tally(judgement)}. "
        f"Intervals at {percent(judgement.confidence)}: {'; '.join(lines) or 'none'}."
    )


def caption(judgement: Judgement) -> str:
    """Say how the figure is to be read, and what is not on it."""
    return (
        f"Bars are {percent(judgement.confidence)} intervals of candidate minus reference; the "
        "short line is the claim's margin. A bar wholly in the shaded zone supports its claim, a "
        "bar across the line leaves it unresolved. Each quantity has an axis of its own."
        + undrawn(judgement)
    )


def plotted(verdicts: Sequence[Verdict]) -> pd.DataFrame:
    """Give the numbers drawn, one row a claim."""
    import pandas as pd

    fields = ("claim", "outcome", "figure", "direction", "margin", "estimate", "low", "high")
    columns = [*fields, "unit", "confidence"]
    return pd.DataFrame([{c: getattr(v, c) for c in columns} for v in verdicts], columns=columns)
