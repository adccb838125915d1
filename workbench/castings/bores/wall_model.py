"""How rough walls are between the places read, and the walls of a block drawn to agree with them.

Everything that asks for a wall *everywhere* (the thinnest place, the room for boring, fitness)
stands on these draws. They assume that a wall does not change over less than about 30 degrees of
turn; what is narrower than that and lies between places, no reading tells.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.bores.core_shift import BORE
from workbench.castings.bores.family_shape import NO_SHAPE, FamilyShape, family_shapes
from workbench.castings.places import Places
from workbench.errors import Refusal
from workbench.inference.directions.roughness import SHEETS_USED, surface_model
from workbench.inference.directions.surface import Sheet, SurfaceModel, determined, surface
from workbench.inference.grouping import group_codes

Values = NDArray[np.float64]

DRAWS = 2000
TURN_STEP = 15.0  # degrees between the points drawn
LEVELS = 5
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoreDraws:
    """The wall of one bore at many points, drawn many times over.

    Attributes
    ----------
    degrees, down
        The points; `down` is NaN where depths have no position.
    mean, standard_error
        At each point; the error that all readings share is not in them.
    draws
        (draws, points), the shared error in them.
    searched
        Draws of the places hunted for in this bore, (draws, places); `searched_mean` what was read
        there, and `searched_degrees`, NaN where the angle was not noted.
    all_round
        Whether no point lies further than `REACH` from a place read.
    """

    bore: str
    degrees: Values
    down: Values
    mean: Values
    standard_error: Values
    draws: Values
    searched: Values
    searched_mean: Values
    searched_degrees: Values
    all_round: bool

    @property
    def least(self) -> Values:
        """The least wall of each draw, places hunted for included."""
        least: Values = np.concatenate([self.draws, self.searched], axis=1).min(axis=1)
        return least


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlockDraws:
    """The walls of one block's bores, drawn together: one shared error in each draw.

    `not_answered` says of each bore without draws why it has none.
    """

    block: str
    family: str
    unit: str
    bores: dict[str, BoreDraws]
    not_answered: dict[str, str]

    @property
    def all_round(self) -> bool:
        """Tell whether every bore was read all round."""
        return not self.not_answered and all(bore.all_round for bore in self.bores.values())


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


def block_draws(
    walls: Places,
    model: WallModel,
    block: str,
    generator: np.random.Generator,
    *,
    draws: int = DRAWS,
) -> BlockDraws:
    """Draw the walls of a block as they may be, given what was read.

    Parameters
    ----------
    walls, model
        The places of the study or family, and the roughness found from them.
    block
        The block.
    generator
        Source of the draws; its seed belongs in the manifest.

    Raises
    ------
    Refusal
        `no_such_block`, `no_angles`; `no_bore_drawn` where no bore can be drawn, with the reasons.
    """
    mine = walls.of_block(block)
    places = mine.round_bores
    if places.empty:
        raise Refusal("no_angles", f"No wall reading of {block} has a bore and an angle.")
    shared = walls.gauge_uncertainty * generator.standard_normal((draws, 1))
    found: dict[str, BoreDraws] = {}
    refused: dict[str, str] = {}
    laid = lay_out_bores(places, model.reading_variance, model.shapes)
    names = places["bore"].to_numpy(object)[group_codes(places, BORE)[1]]
    read = dict(zip(map(str, names), laid, strict=True))
    for bore in sorted(read, key=_bore_order):
        searched = mine.searched
        if len(searched):
            searched = searched[searched["bore"] == bore]
        try:
            if searched["below"].any():
                raise Refusal("censored_readings", replace(mine, searched=searched).only_below)
            if (block, bore) in mine.hidden:
                raise Refusal("hidden_places", mine.hidden[block, bore])
            found[bore] = _bore_draws(read[bore], searched, model, bore, shared, generator)
        except Refusal as refusal:
            refused[bore] = f"Bore {bore} of {block}: {refusal}"
    if not found:
        raise Refusal("no_bore_drawn", " ".join(refused.values()))
    refused |= mine.unread_bores(block)
    return BlockDraws(
        block=block,
        family=str(places["family"].iloc[0]),
        unit=walls.unit,
        bores=found,
        not_answered=refused,
    )


def not_all_round(draws: BlockDraws) -> str:
    """Say which bores of a block were not read, or not all round."""
    short = [name for name, bore in draws.bores.items() if not bore.all_round]
    parts = list(draws.not_answered.values())
    if short:
        parts.append(
            f"Bore {', '.join(short)} of {draws.block}: some angles lie further than "
            f"{REACH:.0f} degrees from any place read, so nothing is known of the wall there."
        )
    return " ".join(parts)


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


def _bore_draws(
    surfaces: list[LaidOut],
    hunted: pd.DataFrame,
    model: WallModel,
    bore: str,
    shared: Values,
    generator: np.random.Generator,
) -> BoreDraws:
    turn = np.arange(0.0, 360.0, TURN_STEP)
    parts, all_round = [], True
    for laid in surfaces:
        degrees, levels = _points(laid.sheet, turn)
        near = reached(degrees, laid.sheet.degrees)
        all_round &= bool(near.all())
        degrees, levels = degrees[near], levels[near]
        found = surface(laid.sheet, model.surface, degrees, levels)
        shape = laid.shape(degrees, levels)
        down = levels if laid.known else np.full(levels.size, np.nan)
        drawn = found.draw(len(shared), generator) + shape
        parts.append((degrees, down, found.mean + shape, found.standard_error, drawn))
    degrees, down, mean, error = (np.concatenate([part[at] for part in parts]) for at in range(4))
    reading = np.sqrt(model.reading_variance / hunted["n"].to_numpy(float))
    hunted_mean = hunted["mean"].to_numpy(float)
    searched = hunted_mean + reading * generator.standard_normal((len(shared), len(hunted)))
    return BoreDraws(
        bore=bore,
        degrees=degrees,
        down=down,
        mean=mean,
        standard_error=error,
        draws=np.concatenate([part[4] for part in parts], axis=1) + shared,
        searched=searched + shared,
        searched_mean=hunted_mean,
        searched_degrees=hunted["angle"].to_numpy(float),
        all_round=all_round,
    )


def _points(sheet: Sheet, turn: Values) -> tuple[Values, Values]:
    """Give the points drawn: every 15 degrees and the angles read, at the depths and between."""
    degrees = np.unique(np.concatenate([turn, sheet.degrees]))
    grid = np.meshgrid(degrees, levels_between(sheet.levels, LEVELS))
    return grid[0].ravel(), grid[1].ravel()


def _bore_order(bore: str) -> tuple[int, str]:
    return (int(bore) if bore.isdigit() else 10**6, bore)
