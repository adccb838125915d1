"""How rough walls are between the places read, and each bore laid out as one surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.bores.core_shift import BORE
from workbench.castings.bores.family_shape import NO_SHAPE, FamilyShape, family_shapes
from workbench.castings.places import Places
from workbench.errors import Refusal
from workbench.inference.directions.roughness import SHEETS_USED, surface_model
from workbench.inference.directions.surface import Sheet, SurfaceModel, determined
from workbench.inference.grouping import group_codes

Values = NDArray[np.float64]

SAME_LEVEL = 1e-6  # of the depth read
REACH = 60.0  # degrees: further from any place read, nothing is estimated


@dataclass(frozen=True, slots=True, kw_only=True)
class WallModel:
    """What is known of walls before a bore is looked at, in `unit`.

    The roughness between places, the variance of one reading, and by family the shape that its
    blocks share.
    """

    unit: str
    surface: SurfaceModel
    reading_variance: float
    shapes: dict[str, FamilyShape]


def wall_model(walls: Places) -> WallModel:
    """Answer how rough the walls are between their places: of a family, or of a study.

    Raises
    ------
    Refusal
        `no_angles` where no wall reading has a bore and an angle; `no_roughness` where no bore was
        read at more places than its mean and shift need.
    """
    places = walls.round_bores
    if places.empty:
        raise Refusal("no_angles", "No wall reading has a bore and an angle.")
    bore, first = group_codes(places, BORE)
    picked = np.arange(0, len(first), max(1, -(-len(first) // SHEETS_USED)))
    kept = places[np.isin(bore, picked)]
    shapes = family_shapes(walls)
    each = lay_out_bores(kept, walls.reading_variance, shapes)
    laid = [one for surfaces in each for one in surfaces]
    usable = [one.sheet for one in laid if determined(one.sheet)]
    if not usable:
        raise Refusal(
            "too_few_angles", "No bore was read at three angles; what lies between is not told."
        )
    return WallModel(
        unit=walls.unit,
        surface=surface_model(usable),
        reading_variance=walls.reading_variance,
        shapes=shapes,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidOut:
    """What was read of a bore as one surface, less the shape its family shares.

    `depths` are in it; `known` tells whether they have positions (levels are 0 where not).
    """

    sheet: Sheet
    depths: tuple[str, ...]
    known: bool
    family_shape: FamilyShape

    def shape(self, degrees: Values, levels: Values) -> Values:
        """Give the family's shape at points of the surface."""
        down = levels if self.known else np.full(levels.size, np.nan)
        return self.family_shape.at(degrees, down, self.depths[0])


def lay_out(
    places: pd.DataFrame, reading_variance: float, shapes: dict[str, FamilyShape]
) -> list[LaidOut]:
    """Give the surfaces of one bore.

    One with all depths where their positions are known; else one for each depth, as nothing says
    how far apart they lie.
    """
    return lay_out_bores(places, reading_variance, shapes)[0]


def lay_out_bores(
    places: pd.DataFrame, reading_variance: float, shapes: dict[str, FamilyShape]
) -> list[list[LaidOut]]:
    """Give the surfaces of every bore, in order of family, block and bore."""
    bore, first = group_codes(places, BORE)
    family, depth = places["family"].to_numpy(object), places["depth"].to_numpy(object)
    degrees, down, mean, n = (
        places[name].to_numpy(float) for name in ("angle", "down", "mean", "n")
    )
    rows = np.split(np.argsort(bore, kind="stable"), np.cumsum(np.bincount(bore))[:-1])
    answer = []
    for own, start in zip(rows, first, strict=True):
        shape = shapes.get(str(family[start]), NO_SHAPE)
        known = bool(np.isfinite(down[own]).all())
        names = sorted(set(depth[own]))
        parts = [own] if known else [own[depth[own] == name] for name in names]
        laid = []
        for part in parts:
            depths = tuple(dict.fromkeys(depth[part]))
            sheet = Sheet(
                degrees=degrees[part],
                levels=down[part] if known else np.zeros(part.size),
                values=mean[part] - shape.at(degrees[part], down[part], depths[0]),
                noise=reading_variance / n[part],
            )
            laid.append(LaidOut(sheet=sheet, depths=depths, known=known, family_shape=shape))
        answer.append(laid)
    return answer


def reached(degrees: Values, read: Values) -> NDArray[np.bool_]:
    """Tell which angles lie within `REACH` of one that was read."""
    apart = np.abs((degrees[:, None] - read[None, :] + 180.0) % 360.0 - 180.0)
    near: NDArray[np.bool_] = apart.min(axis=1) <= REACH
    return near


def levels_between(read: Values, count: int) -> Values:
    """Give `count` even levels from the first read to the last, and those read themselves."""
    levels, whole = np.unique(read), np.ptp(read)
    even = np.linspace(levels[0], levels[-1], count)
    apart = np.abs(even[:, None] - levels[None, :]).min(axis=1)
    return np.union1d(levels, even[apart > SAME_LEVEL * whole])
