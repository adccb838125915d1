"""The map of one bore: its wall at every angle and depth between the places read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.bores.between_bores import Facing, faces_neighbour, facing
from workbench.castings.bores.wall_draws import BlockDraws, not_all_round
from workbench.castings.bores.wall_model import LaidOut, WallModel, lay_out, levels_between, reached
from workbench.castings.places import Places
from workbench.errors import Refusal
from workbench.inference.directions.surface import surface_errors
from workbench.inference.estimates import Estimate
from workbench.inference.results import check_confidence
from workbench.records.settings import Drawing

Values = NDArray[np.float64]

TURN_STEP = 5.0
LEVELS = 25


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinPlace:
    """The thinnest place of a map: estimate, standard error, and where it is.

    Thinner ones may hide between the places read; `least_wall` answers for those. `down` is NaN
    where depths have no position, `depth` is "" between two depths.
    """

    wall: float
    standard_error: float
    degrees: float
    down: float
    depth: str
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallMap:
    """The wall of a bore over angle (columns) and depth (rows), in `unit`.

    Attributes
    ----------
    degrees
        The angles of the columns.
    down
        Depths of the rows below the deck, in `unit`; NaN where depths have no position.
    depths
        The depth read at each row, "" between two of them.
    wall, standard_error
        Estimate and standard error, (rows, columns); NaN where nothing was read near enough. The
        error that all readings share is not in the standard error.
    shared_uncertainty
        That shared error: it moves the whole map up or down.
    places
        The places read, with `angle`, `down`, `n` and `mean`.
    between
        Columns that face a neighbouring bore; none where the drawing does not say.
    sides
        What the drawing says of those sides; `not_answered` says why there are none.
    """

    block: str
    bore: str
    unit: str
    degrees: Values
    down: Values
    depths: tuple[str, ...]
    wall: Values
    standard_error: Values
    shared_uncertainty: float
    places: pd.DataFrame
    between: NDArray[np.bool_]
    sides: tuple[Facing, ...]
    not_answered: dict[str, str]

    @property
    def thinnest(self) -> ThinPlace:
        """The thinnest estimated place; the shared error is in its standard error."""
        row, column = np.unravel_index(int(np.nanargmin(self.wall)), self.wall.shape)
        error = float(np.hypot(self.standard_error[row, column], self.shared_uncertainty))
        return ThinPlace(
            wall=float(self.wall[row, column]),
            standard_error=error,
            degrees=float(self.degrees[column]),
            down=float(self.down[row]),
            depth=self.depths[int(row)],
            unit=self.unit,
        )


def wall_map(
    walls: Places, model: WallModel, block: str, bore: str, drawing: Drawing | None = None
) -> WallMap:
    """Estimate the wall of one bore everywhere between the places read.

    The estimate goes through readings as far as they are exact, is periodic in the angle, and ends
    where reading ended: rows run from the first depth read to the last, and angles further than 60
    degrees from any angle read are left empty.

    Parameters
    ----------
    walls, model
        The places of the study or family, and the roughness found from them.
    block, bore
        The bore.
    drawing
        To show the sides that face a neighbour.

    Raises
    ------
    Refusal
        `not_read` where the bore has no place with an angle; `too_few_angles`.
    """
    places = walls.round_bores
    places = places[(places["block"] == block) & (places["bore"] == bore)]
    if places.empty:
        raise Refusal(
            "not_read", f"There is no wall reading with an angle for bore {bore} of {block}."
        )
    turn = np.arange(0.0, 360.0, TURN_STEP)
    rows: list[tuple[float, str, Values, Values]] = []
    for laid in lay_out(places, model.reading_variance, model.shapes):
        levels, names = _rows(places, laid)
        degrees, along = (part.ravel() for part in np.meshgrid(turn, levels))
        mean, error = surface_errors(laid.sheet, model.surface, degrees, along)
        mean = mean + laid.shape(degrees, along)
        shown = reached(turn, laid.sheet.degrees)
        for at, name in enumerate(names):
            part = slice(at * turn.size, (at + 1) * turn.size)
            wall, spread = (np.where(shown, values[part], np.nan) for values in (mean, error))
            rows.append((float(levels[at]) if laid.known else np.nan, name, wall, spread))
    not_answered = {}
    sides: tuple[Facing, ...] = ()
    try:
        sides = facing(drawing, bore, walls.unit)
    except Refusal as refusal:
        not_answered["between"] = str(refusal)
    return WallMap(
        block=block,
        bore=bore,
        unit=walls.unit,
        degrees=turn,
        down=np.array([row[0] for row in rows]),
        depths=tuple(row[1] for row in rows),
        wall=np.array([row[2] for row in rows]),
        standard_error=np.array([row[3] for row in rows]),
        shared_uncertainty=walls.gauge_uncertainty,
        places=places.reset_index(drop=True),
        between=faces_neighbour(turn, sides),
        sides=sides,
        not_answered=not_answered,
    )


def least_wall(draws: BlockDraws, bore: str | None = None, confidence: float = 0.95) -> Estimate:
    """Answer how thin the wall is at its thinnest place anywhere between the first and last depth.

    Of one bore, or of the block. The true least wall lies below the least of the estimates, as no
    estimate knows of the thin spots between places: `estimate` is the median of the least walls
    that agree with the readings.

    Raises
    ------
    Refusal
        `not_read` for a bore without draws, `not_all_round` for one whose places leave a side open,
        and for the block where any bore is so; `bad_confidence`.
    """
    check_confidence(confidence)
    if bore is not None and bore not in draws.bores:
        why = draws.not_answered.get(bore, f"Bore {bore} of {draws.block} was not read.")
        raise Refusal("not_read", why)
    wanted = list(draws.bores.values()) if bore is None else [draws.bores[bore]]
    if bore is None and draws.not_answered:
        raise Refusal("not_all_round", " ".join(draws.not_answered.values()))
    if not all(one.all_round for one in wanted):
        raise Refusal("not_all_round", not_all_round(draws))
    least = np.min([one.least for one in wanted], axis=0)
    tail = (1 - confidence) / 2
    low, middle, high = np.quantile(least, [tail, 0.5, 1 - tail])
    return Estimate(
        estimate=float(middle),
        low=float(low),
        high=float(high),
        confidence=confidence,
        method="least of drawn walls",
    )


def _rows(places: pd.DataFrame, laid: LaidOut) -> tuple[Values, list[str]]:
    """Give the levels of the rows, the depths read among them, and the names of those."""
    read = laid.sheet.levels
    if len(laid.depths) == 1:
        return read[:1], list(laid.depths)
    named = dict(zip(places["down"], places["depth"], strict=True))
    levels = levels_between(read, LEVELS)
    return levels, [str(named.get(level, "")) for level in levels]
