"""Numbers on the lines of a map, each where it stands clear of what is written there already."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from matplotlib.axes import Axes
    from matplotlib.contour import ContourSet
    from matplotlib.path import Path

Points = NDArray[np.float64]


def number_lines(
    axes: Axes, ruled: ContourSet, taken: Points, words: Callable[[float], str], *, size: float
) -> None:
    """Write its number on every line of `ruled`, far from `taken`, the edges and each other.

    Parameters
    ----------
    axes
        What the lines are drawn on; its limits are set.
    ruled
        The lines, one path a level.
    taken
        Where something is written already, a row `x, y` each, in the numbers of the axes.
    words
        Puts the value of a line in words.
    size
        Of the writing, in points.
    """
    spots = clear_spots(ruled.get_paths(), taken, axes.get_xlim(), axes.get_ylim())
    if spots:
        for text in ruled.clabel(fontsize=size, fmt=words, manual=spots):
            text.set_in_layout(False)  # it lies inside, and need not be measured


def clear_spots(
    lines: Sequence[Path], taken: Points, across: tuple[float, float], down: tuple[float, float]
) -> list[tuple[float, float]]:
    """Give a point of each line that lies far from `taken`, the edges and the points before it."""
    low = np.array([min(across), min(down)])
    extent = np.array([abs(across[1] - across[0]), abs(down[1] - down[0])])
    busy = (taken.reshape(-1, 2) - low) / extent
    spots = []
    for line in lines:
        points = np.asarray(line.vertices, dtype=float)
        places = (points - low) / extent
        if not len(places):
            continue
        edge = np.minimum(places, 1 - places).min(axis=1)
        room = np.minimum(2 * edge, _nearest(places, busy))
        best = int(np.argmax(room))
        busy = np.vstack([busy, places[best]])
        spots.append((float(points[best, 0]), float(points[best, 1])))
    return spots


def _nearest(points: Points, others: Points) -> Points:
    """Give the distance of each point to the nearest of the others; none is far."""
    if not len(others):
        return np.full(len(points), np.inf)
    apart = points[:, None, :] - others[None, :, :]
    return np.asarray(np.hypot(apart[..., 0], apart[..., 1]).min(axis=1))
