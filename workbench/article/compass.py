"""How directions are drawn: as on the block seen from the deck, its front to the left.

Degrees count clockwise from the front, so 90 points up and 180 to the right.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from workbench.article import style
from workbench.article.text import wrapped
from workbench.inference.directions.vector import unit_vectors

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes

    from workbench.inference.directions.vector import Region

Values = NDArray[np.float64]

MAGNIFIED = (1, 2, 3, 4, 6, 8, 10, 20, 30, 40, 60, 80, 100, 200, 300, 400, 600, 800, 1000)
NAMED = 14  # signs of a station's name


def drawn_at(x: Values | float, y: Values | float) -> tuple[Values, Values]:
    """Turn a vector (towards 0, towards 90 degrees) to the sheet: the front is at the left."""
    return -np.asarray(x, dtype=float), np.asarray(y, dtype=float)


def around(degrees: Values, radius: Values | float) -> tuple[Values, Values]:
    """Give the points at angles and distances from a centre, on the sheet."""
    cosine, sine = unit_vectors(degrees)
    return drawn_at(cosine * radius, sine * radius)


def point_at(degrees: float, radius: float) -> tuple[float, float]:
    """Give one point at an angle and a distance from a centre, on the sheet."""
    x, y = around(np.array([degrees]), radius)
    return float(x[0]), float(y[0])


def magnification(largest: float, room: float) -> int:
    """Give the largest round factor that keeps a vector of length `largest` within `room`."""
    fitting = [factor for factor in MAGNIFIED if factor * largest <= room]
    return fitting[-1] if fitting else 1


def draw_region(axes: Axes, region: Region, factor: float, at: tuple[float, float]) -> None:
    """Draw the joint region of a vector, magnified, about a centre on the sheet."""
    x, y = (np.asarray(part) for part in region.outline(120))
    across, up = drawn_at(factor * x, factor * y)
    axes.plot(at[0] + across, at[1] + up, color=style.INK, linewidth=1.0, linestyle=(0, (3, 2)))


def draw_arrow(axes: Axes, x: float, y: float, factor: float, at: tuple[float, float]) -> None:
    """Draw a vector, magnified, from a centre on the sheet."""
    across, up = drawn_at(factor * x, factor * y)
    axes.annotate(
        "",
        xy=(at[0] + float(across), at[1] + float(up)),
        xytext=at,
        arrowprops={
            "arrowstyle": "-|>",
            "color": style.INK,
            "linewidth": 1.4,
            "mutation_scale": 8,
            "shrinkA": 0,
            "shrinkB": 0,
        },
        in_layout=False,
    )
    axes.plot([at[0]], [at[1]], marker="o", markersize=3, color=style.INK)


def name_stations(
    axes: Axes, stations: Mapping[str, float], radius: float, *, size: float = 8.5
) -> None:
    """Write the names of the stations round a ring, with their angles."""
    named = stations or {f"{angle}°": float(angle) for angle in (0, 90, 180, 270)}
    for name, angle in named.items():
        x, y = point_at(angle, radius)
        text = wrapped(name, NAMED, 1)
        degrees = f"{angle:g}°"
        axes.text(
            x,
            y,
            text if text == degrees else f"{text}\n{degrees}",
            ha="right" if x < -0.2 * radius else "left" if x > 0.2 * radius else "center",
            va="bottom" if y > 0.2 * radius else "top" if y < -0.2 * radius else "center",
            fontsize=size,
        )
