"""The shape all blocks of a family share round their bores beyond a shift: that of the core box."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.bores.core_shift import CIRCLE
from workbench.castings.bores.shift_scatter import scatter_of_places
from workbench.castings.places import Places
from workbench.inference.directions.vector import unit_vectors
from workbench.inference.grouping import group_codes

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FamilyShape:
    """Harmonics 2 and up of each depth, in the unit of the walls.

    `coefficients` has a row a depth (cosines and sines in turn), `depths` their names, `down` their
    positions, rising (NaN where not known). Without rows the shape is nothing.
    """

    depths: tuple[str, ...]
    down: Values
    coefficients: Values

    def at(self, degrees: Values, down: Values, depth: str) -> Values:
        """Give the shape at angles and positions; of `depth` where positions are not known.

        Between two depths it changes in a straight line, beyond the last it stays.
        """
        if not self.depths:
            return np.zeros(degrees.size)
        columns = _harmonics(degrees, self.coefficients.shape[1] // 2)
        if np.isfinite(self.down).all() and np.isfinite(down).all():
            rows = np.column_stack(
                [np.interp(down, self.down, column) for column in self.coefficients.T]
            )
        elif depth in self.depths:
            rows = np.tile(self.coefficients[self.depths.index(depth)], (degrees.size, 1))
        else:
            return np.zeros(degrees.size)
        shape: Values = (columns * rows).sum(axis=1)
        return shape


NO_SHAPE = FamilyShape(depths=(), down=np.zeros(0), coefficients=np.zeros((0, 0)))


def family_shapes(walls: Places) -> dict[str, FamilyShape]:
    """Give the shape of each family: what its blocks show alike beyond the harmonic.

    Read off at the stations of whole circles of two blocks or more; between the stations it is the
    smoothest curve through them, of as few harmonics as do. A family without such circles has none.
    """
    places = walls.round_bores
    circle, _ = group_codes(places, CIRCLE)
    found = scatter_of_places(places, circle, walls.reading_variance)
    _, first = group_codes(places, ("family", "depth", "station"))
    grid = places.assign(shape=places["mean"] - found.freed).iloc[first]
    grid = grid[grid["shape"] != 0]
    return {
        str(family): _fitted(own) if len(own) else NO_SHAPE
        for family, own in (
            (name, grid[grid["family"] == name]) for name in places["family"].unique()
        )
    }


def _fitted(grid: pd.DataFrame) -> FamilyShape:
    """Fit each depth by the least harmonics that pass its stations."""
    order = 2
    parts = []
    for depth, own in grid.groupby("depth", sort=True):
        degrees, shape = own["angle"].to_numpy(float), own["shape"].to_numpy(float)
        harmonics = max(2, np.unique(degrees).size // 2)
        order = max(order, harmonics)
        columns = _harmonics(degrees, harmonics - 1)
        coefficients = np.linalg.lstsq(columns, shape, rcond=1e-6)[0]
        parts.append((float(own["down"].iloc[0]), str(depth), coefficients))
    parts.sort(key=lambda part: (part[0], part[1]))
    table = np.zeros((len(parts), 2 * (order - 1)))
    for row, (_, _, coefficients) in zip(table, parts, strict=True):
        row[: coefficients.size] = coefficients
    return FamilyShape(
        depths=tuple(part[1] for part in parts),
        down=np.array([part[0] for part in parts]),
        coefficients=table,
    )


def _harmonics(degrees: Values, count: int) -> Values:
    """Give the columns cos 2, sin 2, cos 3, sin 3, ... at angles in degrees."""
    pairs = [unit_vectors((2 + at) * degrees) for at in range(count)]
    return np.column_stack([part for pair in pairs for part in pair])
