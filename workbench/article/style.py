"""One look for every figure: colours, markers, fonts and sheets, all set here and only here.

Colours are those of Okabe and Ito, "Color Universal Design" (2008), the first three of which keep a
contrast of 3:1 on white and stay apart under each kind of colour blindness. No figure tells things
apart by colour alone: a family has its own marker and its name beside it, an outcome its word.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from workbench.article.text import distinct_labels, drawable, wrapped

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from workbench.claims.rules import Outcome

BLUE, VERMILLION, GREEN = "#0072B2", "#D55E00", "#009E73"
ORANGE, SKY, PURPLE = "#E69F00", "#56B4E9", "#CC79A7"
COLOURS = (BLUE, VERMILLION, GREEN, ORANGE, SKY, PURPLE)
MARKERS = ("o", "s", "^", "D", "v", "P", "X")
INK, SOFT, FAINT, SHADE = "#222222", "#595959", "#BFBFBF", "#E4ECF3"

WIDTH = 8.0  # inches; a full text column
DPI = 120
FOOTER = 0.22  # inches kept free for it
LABEL_SIGNS, LABEL_LINES = 22, 3

SETTINGS: dict[Any, Any] = {
    "axes.axisbelow": True,
    "axes.edgecolor": SOFT,
    "axes.grid": False,
    "axes.labelcolor": INK,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "axes.titlelocation": "left",
    "axes.titlesize": 10,
    "axes.titley": 1.0,  # where it would come to stand anyway, without looking for what is above
    "figure.dpi": DPI,
    "figure.facecolor": "white",
    "font.family": ["DejaVu Sans"],  # comes with matplotlib: the same everywhere
    "font.size": 9.5,
    "grid.color": "#DDDDDD",
    "grid.linewidth": 0.6,
    "hatch.linewidth": 0.6,
    "legend.frameon": False,
    "pdf.fonttype": 42,
    "savefig.dpi": DPI,
    "svg.fonttype": "path",
    "svg.hashsalt": "block-workbench",
    "text.color": INK,
    "text.hinting": "no_hinting",  # letters stand as in print; hinted ones take half as long again
    "text.parse_math": False,  # a family may be called $x$
    "text.usetex": False,
    "xtick.color": INK,
    "ytick.color": INK,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How one family, or one outcome, is drawn wherever it appears."""

    colour: str
    marker: str
    label: str


OUTCOMES: dict[Outcome, Look] = {
    "supported": Look(colour=BLUE, marker="o", label="supported"),
    "contradicted": Look(colour=VERMILLION, marker="X", label="contradicted"),
    "unresolved": Look(colour=SOFT, marker="D", label="unresolved"),
}


@contextmanager
def drawing() -> Iterator[None]:
    """Set the look for what is drawn inside, and leave the reader's own settings as they were."""
    import matplotlib

    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(SETTINGS)
        yield


def looks(families: Iterable[str], labels: Mapping[str, str]) -> dict[str, Look]:
    """Give each family its colour, marker and label, in the order of `families`.

    A family takes the place it has among `labels`, which name all families of the study: it looks
    alike on every page, whichever are drawn beside it. One that has no label comes after those.
    """
    names = tuple(families)
    places = {name: place for place, name in enumerate(dict.fromkeys((*labels, *names)))}
    shown = distinct_labels((labels.get(name, name) for name in names), LABEL_SIGNS, LABEL_LINES)
    return {
        name: Look(
            colour=COLOURS[places[name] % len(COLOURS)],
            marker=MARKERS[places[name] % len(MARKERS)],
            label=label,
        )
        for name, label in zip(names, shown, strict=True)
    }


def sheet(height: float, *, title: str, footer: str = "", width: float = WIDTH) -> Figure:
    """Give an empty sheet with its title at the top left and its footer at the bottom left."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    layout = ConstrainedLayoutEngine()
    figure = Figure(figsize=(width, height), layout=layout)
    FigureCanvasAgg(figure)
    figure.suptitle(
        wrapped(title, int(width * 9.5), 3), x=0.012, ha="left", fontsize=11, fontweight="bold"
    )
    if footer:
        figure.text(
            0.012,
            0.05 / height,
            drawable(footer, int(width * 17)),
            va="bottom",
            fontsize=7.5,
            color=SOFT,
            in_layout=False,
        )
        layout.set(rect=(0, FOOTER / height, 1, 1 - FOOTER / height))
    return figure


def value_axis(axes: Axes, label: str, *, axis: Literal["x", "y"] = "x") -> None:
    """Label the axis of values and rule it lightly; numbers are printed plainly, not as powers."""
    from matplotlib.ticker import ScalarFormatter

    chosen = axes.xaxis if axis == "x" else axes.yaxis
    formatter = ScalarFormatter(useOffset=False, useMathText=False)
    formatter.set_scientific(False)
    chosen.set_major_formatter(formatter)
    chosen.set_label_text(wrapped(label, 90, 2))
    axes.grid(visible=True, axis=axis)


def ratio_axis(
    axes: Axes, *, axis: Literal["x", "y"] = "x", marks: Sequence[float] = (1, 2, 5)
) -> None:
    """Make the axis one of ratios, with `marks` in each tenfold; called before `value_axis`."""
    from matplotlib.ticker import LogLocator, NullLocator

    if axis == "x":
        axes.set_xscale("log")
    else:
        axes.set_yscale("log")
    chosen = axes.xaxis if axis == "x" else axes.yaxis
    chosen.set_major_locator(LogLocator(subs=marks, numticks=9))
    chosen.set_minor_locator(NullLocator())


def with_unit(label: str, unit: str) -> str:
    """Give an axis label with its unit in brackets; a pure number says so."""
    return f"{label} ({unit})" if unit else f"{label} (no unit)"


def key(axes: Axes, marks: Sequence[Artist], columns: int = 3) -> None:
    """Say above the axes what each kind of mark is."""
    axes.legend(
        handles=list(marks),
        loc="lower left",
        bbox_to_anchor=(0, 1.0),
        borderaxespad=0.2,
        ncols=columns,
        fontsize=8.5,
    )
