"""The room for boring in one bore: wall less what must stay, in many draws, and the best centre."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.castings.bores.wall_draws import BoreDraws
from workbench.castings.bores.wall_limits import WallLimits
from workbench.inference.directions.offset_program import Offset, best_offset, largest_cut
from workbench.inference.directions.vector import unit_vectors

Values = NDArray[np.float64]

ROUND = 120  # directions a place of unknown angle is looked for in
NO_OFFSET = Offset(x=0.0, y=0.0, cut=0.0, least=0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoundWalls:
    """The least wall of a bore in each direction, before anything is asked of it.

    All points of one direction are cut alike, so only the least of them counts. `walls` has a row a
    draw; `safe` is a lower surface of the wall that holds in all directions at once, by draws, at
    the confidence it was made for. `asked` are the directions as a limit sees them: NaN where a
    place was hunted for at an angle nobody noted, which counts in every direction.
    """

    bore: str
    degrees: Values
    asked: Values
    walls: Values
    safe: Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Room:
    """How much may go from the wall of a bore, on the radius, direction by direction.

    `walls` are the draws of the least wall in each direction, `room` those of it less what must
    stay, both (draws, directions); `central` is the least room of each draw about the bore's own
    centre, `safe` the lower surface of the room.
    """

    bore: str
    degrees: Values
    walls: Values
    room: Values
    central: Values
    safe: Values

    def least_room(self, offset: Offset) -> Values:
        """Give, for each draw, the cut that leaves what is required at every point."""
        if offset is NO_OFFSET:
            return self.central
        least: Values = (self.room - self._taken(offset)).min(axis=1)
        return least

    def least_wall(self, cut: float, offset: Offset) -> Values:
        """Give, for each draw, the least wall a cut about an offset centre leaves."""
        least: Values = (self.walls - self._taken(offset)).min(axis=1) - cut
        return least

    def largest_cut(self, limit: float, clean_up: float) -> Offset:
        """Give the offset that allows the largest cut, by the safe surface."""
        return largest_cut(self.degrees, self.safe, limit=limit, clean_up=clean_up)

    def offset_for(self, cut: float, limit: float, clean_up: float) -> Offset:
        """Give the offset that leaves most after a cut; the centre stays where none cleans up."""
        within = min(limit, cut - clean_up)
        if within <= 0:
            return NO_OFFSET
        return best_offset(self.degrees, self.safe, cut=cut, limit=within)

    def _taken(self, offset: Offset) -> Values:
        cosine, sine = unit_vectors(self.degrees)
        taken: Values = offset.x * cosine + offset.y * sine
        return taken


def round_walls(draws: BoreDraws, shared: float, confidence: float) -> RoundWalls:
    """Lay out the walls of one bore by direction; `shared` is the error all readings share."""
    known = ~np.isnan(draws.searched_degrees)
    lost = np.flatnonzero(~known)
    around = np.linspace(0.0, 360.0, ROUND, endpoint=False)
    degrees = np.concatenate(
        [draws.degrees, draws.searched_degrees[known], np.tile(around, lost.size)]
    )
    columns = np.concatenate([np.flatnonzero(known), np.repeat(lost, ROUND)]).astype(np.int64)
    walls, spread, mean = draws.draws, np.hypot(draws.standard_error, shared), draws.mean
    if columns.size:
        walls = np.concatenate([walls, draws.searched[:, columns]], axis=1)
        spread = np.concatenate([spread, draws.searched.std(axis=0)[columns]])
        mean = np.concatenate([mean, draws.searched_mean[columns]])
    with np.errstate(divide="ignore", invalid="ignore"):
        below = np.where(spread > 0, (mean - walls) / spread, 0.0).max(axis=1)
    safe = mean - float(np.quantile(below, confidence)) * spread
    unknown = np.arange(degrees.size) >= degrees.size - lost.size * ROUND
    key = degrees % 360.0 + 360.0 * unknown
    order = np.argsort(key, kind="stable")
    first = np.unique(key[order], return_index=True)[1]
    return RoundWalls(
        bore=draws.bore,
        degrees=degrees[order][first],
        asked=np.where(unknown, np.nan, degrees)[order][first],
        walls=np.minimum.reduceat(walls[:, order], first, axis=1),
        safe=np.minimum.reduceat(safe[order], first),
    )


def room_of(found: RoundWalls, limits: WallLimits, scale: float) -> Room:
    """Take off what must stay; `scale` turns the unit of the limits into that of the walls."""
    required = limits.required(found.asked) * scale
    asked_for = np.isfinite(required)
    walls, required = found.walls[:, asked_for], required[asked_for]
    room = walls - required
    return Room(
        bore=found.bore,
        degrees=found.degrees[asked_for],
        walls=walls,
        room=room,
        central=room.min(axis=1),
        safe=found.safe[asked_for] - required,
    )
