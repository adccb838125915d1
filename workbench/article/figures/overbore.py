"""The least wall left in a block against the overbore of all its bores, and the limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.article import style
from workbench.article.block_tables import label_of
from workbench.article.block_words import room_text
from workbench.article.numbers import percent
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, wrapped
from workbench.castings.bores.overbore_curve import overbore_curve
from workbench.errors import Refusal

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from workbench.castings.block_report import BlockReport
    from workbench.castings.bores.boring import BoringAllowance

LINES = (
    ("best", "about the best centres", "-"),
    ("own", "about the bores' own centres", (0, (4, 2))),
)


def overbore(report: BlockReport, *, footer: str = "") -> Picture:
    """Draw the least wall left anywhere in a block against the overbore of all its bores.

    Parameters
    ----------
    report
        The block.
    footer
        What a reader needs to make the figure again: version.

    Raises
    ------
    Refusal
        `no_boring` where the room for boring was not answered, with the reason.
    """
    shown = report.duty_shown
    if shown is None:
        why = report.not_answered.get("boring") or report.not_answered.get("walls")
        raise Refusal("no_boring", why or "No duty of the study asks for a wall.")
    table = curve_of(report)
    with style.drawing():
        figure = style.sheet(
            4.3, title=f"{report.block}: least wall left against overbore", footer=footer
        )
        axes = figure.add_subplot()
        draw_overbore(axes, report, table)
        return finish(
            figure,
            alt=_alternative(report, table),
            caption=_caption(report),
            data=table.assign(unit=report.unit),
        )


def curve_of(report: BlockReport) -> pd.DataFrame:
    """Give the curve for the duty laid out bore by bore, far enough for the room of every duty."""
    assert report.duty_shown is not None
    furthest = max(_sizes(report) + [found.one_size for found in report.boring.values()])
    return overbore_curve(report.boring[report.duty_shown], furthest if furthest > 0 else None)


def draw_overbore(
    axes: Axes, report: BlockReport, table: pd.DataFrame, *, size: float = 8.5
) -> None:
    """Draw the curves, the limit of each duty and the sizes of the list."""
    across = table["overbore"]
    for name, label, line in LINES:
        axes.plot(across, table[name], color=style.BLUE, linewidth=1.6, linestyle=line, label=label)
        axes.plot(across, table[f"{name}_sure"], color=style.INK, linewidth=0.9, linestyle=line)
    axes.fill_between(across, table["best_sure"], table["best"], color=style.SHADE, linewidth=0)
    last = float(across.iloc[-1])
    drawn: dict[float, list[str]] = {}
    for name, found in report.boring.items():
        if not found.limits.at:
            drawn.setdefault(found.limits.everywhere, []).append(label_of(report, name))
    for limit, names in drawn.items():
        axes.axhline(limit, color=style.VERMILLION, linewidth=1.0)
        axes.annotate(
            f"{limit:g} {report.unit}\n{wrapped(', '.join(names), 18, 3)}",
            (last, limit),
            xytext=(5, 0),
            textcoords="offset points",
            va="center",
            fontsize=size,
        )
    for found in report.boring.values():
        if found.one_size >= 0 and not found.limits.at:
            axes.plot(
                [found.one_size],
                [found.limits.everywhere],
                marker="v",
                markersize=8,
                color="white",
                markeredgecolor=style.INK,
                zorder=5,
            )
    for oversize in _sizes(report):
        axes.axvline(oversize, color=style.FAINT, linewidth=0.9, linestyle=":", zorder=0)
    axes.set_xlim(0, last)
    style.value_axis(axes, style.with_unit("least wall left", report.unit), axis="y")
    style.value_axis(axes, style.with_unit("overbore, on the diameter", report.unit))
    axes.legend(
        loc="lower left", bbox_to_anchor=(0, 1.0), borderaxespad=0.2, ncols=2, fontsize=size
    )


def _sizes(report: BlockReport) -> list[float]:
    shown = report.duty_shown
    return [] if shown is None else [size.oversize for size in report.boring[shown].sizes]


def _of(report: BlockReport, name: str, found: BoringAllowance) -> str:
    return (
        f"{clean(label_of(report, name), 60)} ({found.limits.everywhere:g} {found.limits.unit}): "
        f"{room_text(found.one_size, found.unit)}"
    )


def _alternative(report: BlockReport, table: pd.DataFrame) -> str:
    said = "; ".join(
        _of(report, name, found) for name, found in report.boring.items() if not found.limits.at
    )
    first = table.iloc[0]
    return (
        f"Curves of the least wall left anywhere in {clean(report.block, 80)} against the overbore "
        f"of all its bores, from {first['best']:.2f} {report.unit} unbored, "
        f"{first['best_sure']:.2f} {report.unit} with {percent(report.confidence)} confidence. "
        f"Largest overbore by duty: {said or 'none asked everywhere alike'}."
    )


def _caption(report: BlockReport) -> str:
    sizes = " Dotted lines are the oversizes of the list." if _sizes(report) else ""
    return (
        "Blue lines are the middle of what agrees with the readings, black ones the wall that "
        f"stays with {percent(report.confidence)} confidence, in all bores at once. A triangle is "
        f"the largest overbore that keeps the wall of a duty.{sizes} From the first depth read to "
        "the last; above and below nothing is known."
    )
