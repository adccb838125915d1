"""One number a block, family by family, with the figure of each family: for rows of marks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from workbench.article import style
from workbench.article.placing import spread_out
from workbench.article.text import clean
from workbench.inference.results import Interval
from workbench.records.rounding import interval_text, quantity_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Floats = NDArray[np.float64]
ROOM = 0.08  # of the range of the values, left free at both ends
LANE = 0.22  # of a row, to either side of the middle of its marks


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FamilyValues:
    """Numbers of the blocks of one family; `value` and `interval` are the figure of the family.

    `lowered` holds, for some blocks, what readings hunted for lower them to.
    """

    family: str
    label: str
    blocks: tuple[str, ...]
    numbers: Floats
    value: float
    interval: Interval | None
    lowered: Floats | None = None

    def about_mean(self) -> FamilyValues:
        """Give the numbers less their mean."""
        return replace(self, numbers=self.numbers - self.numbers.mean())


def draw_family_rows(
    axes: Axes, families: Sequence[FamilyValues], labels: Mapping[str, str] | None = None
) -> None:
    """Draw one mark a block in a row a family, limits set to the values, families named.

    `labels` name all families of the study, as `style.looks` takes them.
    """
    labels = labels or {one.family: one.label for one in families}
    looks = style.looks([one.family for one in families], labels)
    everything = np.concatenate([one.numbers for one in families])
    everything = np.append(everything, [one.value for one in families])
    if any(one.lowered is not None for one in families):
        parts = [one.lowered for one in families if one.lowered is not None]
        everything = np.append(everything, np.concatenate(parts))
    room = ROOM * float(np.ptp(everything)) or 1.0
    axes.set_xlim(float(everything.min()) - room, float(everything.max()) + room)
    for row, one in enumerate(families):
        look = looks[one.family]
        ordered = np.sort(one.numbers)
        axes.scatter(
            ordered,
            row - 0.05 + LANE * spread_out(ordered),
            s=26,
            facecolor="white",
            edgecolor=look.colour,
            marker=look.marker,
            linewidths=1.1,
            zorder=3,
        )
    axes.set_ylim(len(families) - 0.45, -0.5)
    axes.set_yticks(
        range(len(families)),
        [f"{looks[f.family].label}\n{f.numbers.size} blocks" for f in families],
    )
    axes.tick_params(axis="y", length=0)


def draw_interval(axes: Axes, low: float, high: float, height: float) -> None:
    """Draw an interval as a line with ends, an arrow where it runs on beyond the axis."""
    left, right = axes.get_xlim()
    shown = (max(low, left), min(high, right))
    axes.plot(shown, [height, height], color=style.INK, linewidth=1.6, zorder=3)
    for end, drawn, arrow in zip((low, high), shown, "<>", strict=True):
        mark = "|" if drawn == end else arrow
        axes.plot([drawn], [height], mark, color=style.INK, markersize=8, zorder=3)


def figure_words(one: FamilyValues, unit: str, finest: float) -> str:
    """Name a family and its figure, with its interval where it has one."""
    label = f"{clean(one.label, 60)} ({one.numbers.size} blocks)"
    if one.interval is None:
        return f"{label} {quantity_text(one.value, unit=unit, step=finest)}"
    spread = one.interval.half_width / 2
    ends = interval_text(one.interval.low, one.interval.high, unit, uncertainty=spread, step=finest)
    return f"{label} {quantity_text(one.value, spread, unit, finest)} ({ends})"
