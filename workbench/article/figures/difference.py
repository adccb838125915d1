"""The difference a claim is about, in its interval, against the margin; rival analyses below it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbench.article import style
from workbench.article.names import quantity_label
from workbench.article.numbers import as_shown, known, p_words, percent, verdict_words
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted, wrapped
from workbench.article.zones import SUPPORTED, boundaries, zones

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from workbench.claims.rules import Outcome
    from workbench.claims.verdict import Verdict
    from workbench.records.settings import Settings

ROW = 0.62  # inches an analysis
FOOT = 0.55  # of a row, kept below the last analysis for the names of the lines
WORD = 0.17  # of the axis, the width of an outcome's word
ROOM_BETWEEN = 0.4  # of the axis: lines farther apart are named one by one
FIGURES = {
    "mean": "{quantity}: {candidate} minus {reference}",
    "spread": "{quantity}, spread: {candidate} against {reference}",
    "thinnest": "{quantity}, thinnest place: {candidate} minus {reference}",
    "share_below": "{quantity}, share below the threshold: {candidate} minus {reference}",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One analysis as a row of the figure."""

    name: str
    outcome: Outcome | None
    estimate: float
    low: float
    high: float
    inner: tuple[float, float] | None
    main: bool


def difference(verdict: Verdict, settings: Settings, *, footer: str = "") -> Picture:
    """Draw the difference of one claim with its interval, and each rival analysis below it.

    The zone in which a whole interval supports the claim is shaded; each zone is named.

    Parameters
    ----------
    verdict
        The verdict on the claim.
    settings
        The study's settings: labels of families and quantities.
    footer
        What a reader needs to make the figure again: seed and version.
    """
    verdict = as_shown(verdict)
    with style.drawing():
        rows = analyses(verdict)
        figure = style.sheet(
            1.95 + ROW * (max(len(rows), 1) + FOOT),
            title=f"{verdict.claim}: {verdict.outcome}",
            footer=footer,
        )
        axes = figure.add_subplot()
        if rows:
            draw(axes, rows, verdict, style.with_unit(what(verdict, settings), verdict.unit))
        else:
            axes.axis("off")
            axes.text(0.5, 0.5, wrapped(verdict.sentence, 80, 6), ha="center", va="center")
        return finish(
            figure,
            alt=alternative(verdict, rows, settings),
            caption=caption(verdict, rows),
            data=plotted(rows, verdict),
        )


def draw(axes: Axes, rows: list[Row], verdict: Verdict, label: str) -> None:
    """Draw the zones, the lines and every analysis."""
    set_limits(axes, rows, verdict)
    draw_zones(axes, verdict)
    for place, row in enumerate(rows):
        draw_row(axes, row, place, verdict)
    axes.set_ylim(len(rows) - 0.5 + FOOT, -0.5)
    name_lines(axes, verdict, len(rows) - 0.5 + FOOT / 2)
    axes.set_yticks(range(len(rows)), [wrapped(row.name, 24, 3) for row in rows])
    axes.tick_params(axis="y", length=0)
    style.value_axis(axes, label)


def analyses(verdict: Verdict) -> list[Row]:
    """Give the deciding analysis and its rivals; empty where there is no estimate."""
    if not verdict.has_numbers:
        return []
    inner = (verdict.inner_low, verdict.inner_high)
    main = Row(
        name=verdict.method or "deciding analysis",
        outcome=verdict.outcome,
        estimate=verdict.estimate,
        low=verdict.low,
        high=verdict.high,
        inner=inner if known(inner[0]) and known(inner[1]) else None,
        main=True,
    )
    rivals = [
        Row(
            name=check.name,
            outcome=check.outcome,
            estimate=check.estimate,
            low=check.low,
            high=check.high,
            inner=None,
            main=False,
        )
        for check in verdict.checks
        if known(check.estimate)
    ]
    return [main, *rivals]


def set_limits(axes: Axes, rows: list[Row], verdict: Verdict) -> None:
    """Make room for every finite end, the margins and zero, and for the words of the zones."""
    marks = [0.0, *boundaries(verdict.direction, verdict.margin)]
    ends = [end for row in rows for end in (row.estimate, row.low, row.high) if math.isfinite(end)]
    least, greatest = min(marks + ends), max(marks + ends)
    room = 0.12 * (greatest - least) or 1.0
    axes.set_xlim(least - room, greatest + room)


def draw_zones(axes: Axes, verdict: Verdict) -> None:
    """Shade where the claim is supported, name each zone above the axes and each line below."""
    left, right = axes.get_xlim()
    taken = [-math.inf, -math.inf]
    for zone in zones(verdict.direction, verdict.margin):
        low, high = max(zone.low, left), min(zone.high, right)
        if zone.outcome == SUPPORTED:
            axes.axvspan(low, high, color=style.SHADE, zorder=0)
        middle = ((low + high) / 2 - left) / (right - left)
        middle = min(max(middle, WORD / 2), 1 - WORD / 2)
        line = 0 if middle - WORD / 2 >= taken[0] else 1
        taken[line] = middle + WORD / 2
        axes.annotate(
            zone.outcome,
            (middle, 1),
            xytext=(0, 4 + 13 * line),
            xycoords="axes fraction",
            textcoords="offset points",
            ha="center",
            fontsize=9.5,
            fontstyle="italic",
        )
    for boundary in boundaries(verdict.direction, verdict.margin):
        axes.axvline(boundary, color=style.INK, linewidth=1.4, linestyle=(0, (5, 3)), zorder=1)
    axes.axvline(0, color=style.SOFT, linewidth=0.9, zorder=1)


def name_lines(axes: Axes, verdict: Verdict, height: float) -> None:
    """Name the margins and the line of no difference, together where they crowd."""
    left, right = axes.get_xlim()
    lines = boundaries(verdict.direction, verdict.margin)
    names = {line: f"margin {line:+.6g} {verdict.unit}".rstrip() for line in lines if line}
    if len(names) < 2:  # between two margins the zero needs no name
        names[0.0] = "no difference"
    first, last = min(names), max(names)
    if last - first > ROOM_BETWEEN * (right - left):
        name_line(axes, first, height, names[first], at_right=True)
        name_line(axes, last, height, names[last], at_right=False)
        return
    at_right = right - last >= first - left
    names = {line: name if line else f"{name} at 0" for line, name in names.items()}
    together = "; ".join(names[line] for line in sorted(names))
    name_line(axes, last if at_right else first, height, together, at_right=at_right)


def name_line(axes: Axes, line: float, height: float, name: str, *, at_right: bool) -> None:
    """Write the name of a line beside it."""
    axes.annotate(
        name,
        (line, height),
        xytext=(4 if at_right else -4, 0),
        textcoords="offset points",
        ha="left" if at_right else "right",
        va="center",
        fontsize=8,
        color=style.SOFT,
    )


def draw_row(axes: Axes, row: Row, place: int, verdict: Verdict) -> None:
    """Draw one analysis: its interval, its mark, and its numbers at the right edge."""
    left, right = axes.get_xlim()
    look = style.OUTCOMES[row.outcome or "unresolved"]
    ink = look.colour if row.main else style.SOFT
    if not (math.isnan(row.low) or math.isnan(row.high)):
        ends = [max(row.low, left), min(row.high, right)]
        axes.plot(ends, [place, place], color=ink, linewidth=2.6 if row.main else 1.6, zorder=3)
        for end, drawn, arrow in zip((row.low, row.high), ends, "<>", strict=True):
            mark = "|" if math.isfinite(end) else arrow
            axes.plot([drawn], [place], mark, color=ink, markersize=10 if row.main else 7, zorder=3)
    if row.inner is not None:
        axes.plot(
            row.inner, [place, place], color=ink, linewidth=6, solid_capstyle="butt", zorder=3
        )
    axes.plot(
        [row.estimate],
        [place],
        marker=look.marker,
        color=ink,
        markerfacecolor="white",
        markeredgewidth=1.8,
        markersize=10 if row.main else 7,
        zorder=4,
    )
    axes.annotate(
        wrapped(verdict_words(row, verdict), 38, 2) + f"\n{row.outcome or 'decides nothing'}",
        (1.012, place),
        xycoords=("axes fraction", "data"),
        va="center",
        fontsize=8.5,
        fontweight="bold" if row.main else "normal",
        annotation_clip=False,
    )


def what(verdict: Verdict, settings: Settings) -> str:
    """Say what the difference is of, and which way it is taken."""
    return FIGURES[verdict.figure].format(
        quantity=clean(quantity_label(settings, verdict.quantity), 40),
        candidate=clean(settings.family_label(verdict.candidate), 40),
        reference=clean(settings.family_label(verdict.reference), 40),
    )


def margin_words(verdict: Verdict) -> str:
    """Say where the margin lies."""
    lines = boundaries(verdict.direction, verdict.margin)
    if lines == (0.0,):
        return "margin 0: no difference"
    return "margin " + " and ".join(f"{line:+.6g}" for line in lines) + f" {verdict.unit}".rstrip()


def alternative(verdict: Verdict, rows: list[Row], settings: Settings) -> str:
    """Say the figure in words: type, what, main number with its interval, margin, counts."""
    claim = f"{clean(verdict.claim, 80)}, {verdict.outcome}"
    if not rows:
        return f"No interval plot for the claim {claim}: {verdict.sentence}"
    words = (
        f"Interval plot of the claim {claim}. {what(verdict, settings)}: "
        f"{verdict_words(verdict, verdict)}"
        f" at {percent(verdict.confidence)}; {margin_words(verdict)}. {counts(verdict)}."
    )
    if len(rows) > 1:
        words += " Rival analyses: " + "; ".join(
            f"{row.name} {verdict_words(row, verdict)}, {row.outcome or 'decides nothing'}"
            for row in rows[1:]
        )
        words += "."
    return words


def counts(verdict: Verdict) -> str:
    """Say how many blocks and readings each family brought."""
    return (
        f"Candidate: {counted(verdict.candidate_blocks, 'block')}, "
        f"{counted(verdict.candidate_readings, 'reading')}; "
        f"reference: {counted(verdict.reference_blocks, 'block')}, "
        f"{counted(verdict.reference_readings, 'reading')}"
    )


def caption(verdict: Verdict, rows: list[Row]) -> str:
    """Say how the figure is to be read."""
    if not rows:
        return "There is no estimate, and so nothing to draw."
    return (
        f"{counts(verdict)}. Bars are {percent(verdict.confidence)} intervals; the dashed line is "
        f"the {margin_words(verdict)}. A bar wholly in the shaded zone supports the claim, a bar "
        "across a dashed line leaves it unresolved. The thick bar decides; the thin ones are "
        f"checks. {p_words(verdict.told_p)} for the margin." + inner_words(verdict)
    )


def inner_words(verdict: Verdict) -> str:
    """Say what the thickest part of the bar is; only a claim of sameness has one."""
    if not known(verdict.inner_low):
        return ""
    return (
        f" The thickest part is the {percent(2 * verdict.confidence - 1)} interval, which decides "
        "sameness (two one-sided tests)."
    )


def plotted(rows: list[Row], verdict: Verdict) -> pd.DataFrame:
    """Give the numbers drawn, one row an analysis."""
    import pandas as pd

    return pd.DataFrame(
        [
            {
                "analysis": row.name,
                "estimate": row.estimate,
                "low": row.low,
                "high": row.high,
                "outcome": row.outcome,
            }
            for row in rows
        ],
        columns=["analysis", "estimate", "low", "high", "outcome"],
    ).assign(unit=verdict.unit, confidence=verdict.confidence, margin=verdict.margin)
