"""Figures at the size they are printed: one column or two, drawn in millimetres, small type.

The widths are those most journals set (common practice, no source). Type is between 6.5 and 8
points at that size, and lines are no thinner than 0.5 points. Colours, markers and the rule that
nothing hangs on colour alone are those of `style`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from workbench.article import style
from workbench.article.text import wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MM = 1 / 25.4  # inches
DPI = 300
BODY, SMALL = 7.5, 6.5  # points
SIGN = 1.55  # mm, an average sign of an axis label
AXIS_LINES = 3

SETTINGS: dict[Any, Any] = {
    "axes.labelsize": BODY,
    "axes.linewidth": 0.6,
    "axes.titlesize": 8,
    "font.size": BODY,
    "lines.linewidth": 1.0,
    "xtick.labelsize": SMALL,
    "xtick.major.size": 2.5,
    "xtick.major.width": 0.6,
    "ytick.labelsize": BODY,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Width:
    """A width of print: its name in file names, and its millimetres."""

    name: str
    mm: float


ONE_COLUMN = Width(name="one-column", mm=85.0)
TWO_COLUMNS = Width(name="two-columns", mm=175.0)


@contextmanager
def drawing() -> Iterator[None]:
    """Set the look of print for what is drawn inside."""
    import matplotlib

    with style.drawing():
        matplotlib.rcParams.update(SETTINGS)
        yield


def sheet(width: Width, height_mm: float) -> Figure:
    """Give an empty sheet of a width of print."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    layout = ConstrainedLayoutEngine(w_pad=1.2 * MM, h_pad=1.2 * MM)
    figure = Figure(figsize=(width.mm * MM, height_mm * MM), dpi=DPI, layout=layout)
    FigureCanvasAgg(figure)
    return figure


def signs_across(axes: Axes) -> int:
    """Tell how many signs of an axis label fit below a panel."""
    figure, grid = axes.get_figure(root=True), axes.get_gridspec()
    assert figure is not None
    across = 1 if grid is None else grid.ncols
    return int(figure.get_figwidth() / MM / across / SIGN)


def value_axis(axes: Axes, label: str) -> None:
    """Label the axis of values in as many lines as it needs; ticks stand where they can be read."""
    from matplotlib.ticker import MaxNLocator

    style.value_axis(axes, label)
    axes.set_xlabel(wrapped(label, signs_across(axes), AXIS_LINES))
    axes.xaxis.set_major_locator(MaxNLocator(nbins=6, steps=[1, 2, 2.5, 5, 10]))
    axes.tick_params(axis="y", length=0)
