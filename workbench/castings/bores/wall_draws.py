"""The walls of a block drawn to agree with what was read of them.

Everything that asks for a wall *everywhere* (the thinnest place, the room for boring, fitness)
stands on these draws. They assume that a wall does not change over less than about 30 degrees of
turn; what is narrower than that and lies between places, no reading tells.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from workbench.castings.bores.core_shift import BORE
from workbench.castings.bores.wall_model import (
    REACH,
    LaidOut,
    WallModel,
    lay_out_bores,
    levels_between,
    reached,
)
from workbench.castings.places import Places
from workbench.errors import Refusal
from workbench.inference.directions.surface import Points, points_of
from workbench.inference.grouping import distinct

Values = NDArray[np.float64]

DRAWS = 2000
TURN_STEP = 15.0  # degrees between the points drawn
LEVELS = 5
LAYOUTS = 100  # remembered: bores may be read at angles of their own, each with its points


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
    least
        The least wall of each draw, places hunted for included.
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
    least: Values
    all_round: bool


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
    return WallsToDraw(walls.of_block(block), model).draw(block, generator, draws)


class WallsToDraw:
    """The walls of many blocks laid out at once, so that each is drawn without looking it up.

    Bores read at the same places are drawn at the same points, and what is known of those points
    whatever was read is worked out once.
    """

    def __init__(self, walls: Places, model: WallModel) -> None:
        self._walls, self._model = walls, model
        places = walls.round_bores
        laid = [] if places.empty else lay_out_bores(places, model.reading_variance, model.shapes)
        self._family: dict[str, str] = {}
        self._read: dict[str, dict[str, list[LaidOut]]] = {}
        for (family, block, bore), surfaces in zip(distinct(places, BORE), laid, strict=True):
            self._family.setdefault(str(block), str(family))
            self._read.setdefault(str(block), {})[str(bore)] = surfaces
        self._hunted: dict[tuple[str, str], list[int]] = {}
        for at, key in enumerate(zip(walls.searched["block"], walls.searched["bore"], strict=True)):
            self._hunted.setdefault(key, []).append(at)
        self._n, self._mean, self._angle = (
            walls.searched[name].to_numpy(float) for name in ("n", "mean", "angle")
        )
        self._points: dict[tuple[object, ...], _PointsDrawn] = {}

    def draw(self, block: str, generator: np.random.Generator, draws: int = DRAWS) -> BlockDraws:
        """Draw the walls of one block; refused as `block_draws` says."""
        if block not in self._read:
            self._walls.of_block(block)
            raise Refusal("no_angles", f"No wall reading of {block} has a bore and an angle.")
        shared = self._walls.gauge_uncertainty * generator.standard_normal((draws, 1))
        read, found, refused = self._read[block], {}, {}
        for bore in sorted(read, key=_bore_order):
            try:
                hunted = self._hunted_in(block, bore)
                found[bore] = self._drawn(bore, read[bore], hunted, shared, generator)
            except Refusal as refusal:
                refused[bore] = f"Bore {bore} of {block}: {refusal}"
        if not found:
            raise Refusal("no_bore_drawn", " ".join(refused.values()))
        return BlockDraws(
            block=block,
            family=self._family[block],
            unit=self._walls.unit,
            bores=found,
            not_answered=refused | self._walls.bores_besides(block, read),
        )

    def _hunted_in(self, block: str, bore: str) -> list[int]:
        """Give the rows of places hunted for; refused where one may be thinner than was read."""
        rows = self._hunted.get((block, bore), [])
        hunted = self._walls.searched.iloc[rows] if rows else None
        if hunted is not None and hunted["below"].any():
            raise Refusal("censored_readings", replace(self._walls, searched=hunted).only_below)
        if (block, bore) in self._walls.hidden:
            raise Refusal("hidden_places", self._walls.hidden[block, bore])
        return rows

    def _drawn(
        self,
        bore: str,
        surfaces: list[LaidOut],
        hunted: list[int],
        shared: Values,
        generator: np.random.Generator,
    ) -> BoreDraws:
        points, found, drawn = [], [], []
        for laid in surfaces:
            points.append(self._points_of(laid))
            found.append(points[-1].points.surface(laid.sheet))
            drawn.append(found[-1].draw(len(shared), generator))
            drawn[-1] += points[-1].shape
        walls = np.concatenate(drawn, axis=1)
        walls += shared
        reading = np.sqrt(self._model.reading_variance / self._n[hunted])
        searched = generator.standard_normal((len(shared), len(hunted)))
        searched = self._mean[hunted] + reading * searched + shared
        return BoreDraws(
            bore=bore,
            degrees=np.concatenate([at.degrees for at in points]),
            down=np.concatenate([at.down for at in points]),
            mean=np.concatenate([of.mean + at.shape for of, at in zip(found, points, strict=True)]),
            standard_error=np.concatenate([of.standard_error for of in found]),
            draws=walls,
            searched=searched,
            searched_mean=self._mean[hunted],
            searched_degrees=self._angle[hunted],
            least=np.minimum(walls.min(axis=1), searched.min(axis=1, initial=np.inf)),
            all_round=all(at.all_round for at in points),
        )

    def _points_of(self, laid: LaidOut) -> _PointsDrawn:
        where = (laid.sheet.degrees.tobytes(), laid.sheet.levels.tobytes())
        key = (*where, laid.known, laid.depths[0], laid.family_shape)
        if key not in self._points:
            if len(self._points) == LAYOUTS:
                self._points.clear()
            self._points[key] = _points_drawn(laid, self._model)
        return self._points[key]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _PointsDrawn:
    """The points drawn of a bore: every 15 degrees and the angles read, at depths and between.

    `shape` is that of the family there; `all_round` as for `BoreDraws`.
    """

    degrees: Values
    down: Values
    shape: Values
    all_round: bool
    points: Points


def _points_drawn(laid: LaidOut, model: WallModel) -> _PointsDrawn:
    sheet = laid.sheet
    turn = np.unique(np.concatenate([np.arange(0.0, 360.0, TURN_STEP), sheet.degrees]))
    near = reached(turn, sheet.degrees)
    grid = np.meshgrid(turn[near], levels_between(sheet.levels, LEVELS))
    degrees, levels = grid[0].ravel(), grid[1].ravel()
    return _PointsDrawn(
        degrees=degrees,
        down=levels if laid.known else np.full(levels.size, np.nan),
        shape=laid.shape(degrees, levels),
        all_round=bool(near.all()),
        points=points_of(sheet, model.surface, degrees, levels),
    )


def _bore_order(bore: str) -> tuple[int, str]:
    return (int(bore) if bore.isdigit() else 10**6, bore)


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
