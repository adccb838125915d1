"""The room for boring in one bore: wall less what must stay, in many draws, and the best centre."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

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

    `walls` are the draws of the least wall in each direction, (draws, directions), `required` what
    must stay of it; `safe` is the lower surface of the room between. What was found of a centre, or
    of how far it may move, is remembered: sizes and curves ask for the same again.
    """

    bore: str
    degrees: Values
    walls: Values
    required: Values
    safe: Values
    centres: dict[float, Offset] = field(default_factory=dict, repr=False)
    least: dict[tuple[float, float], tuple[Values, Values]] = field(
        default_factory=dict, repr=False
    )

    def least_room(self, offset: Offset) -> Values:
        """Give, for each draw, the cut that leaves what is required at every point."""
        return self._about(offset)[0]

    def least_wall(self, cut: float, offset: Offset) -> Values:
        """Give, for each draw, the least wall a cut about an offset centre leaves."""
        return self._about(offset)[1] - cut

    def largest_cut(self, limit: float, clean_up: float) -> Offset:
        """Give the offset that allows the largest cut, by the safe surface."""
        return largest_cut(self.degrees, self.safe, limit=limit, clean_up=clean_up)

    def offset_for(self, cut: float, limit: float, clean_up: float) -> Offset:
        """Give the offset that leaves most after a cut; the centre stays where none cleans up."""
        within = min(limit, cut - clean_up)
        if within <= 0:
            return NO_OFFSET
        if within not in self.centres:
            self.centres[within] = best_offset(self.degrees, self.safe, cut=cut, limit=within)
        best = self.centres[within]
        return replace(best, cut=cut, least=best.least + best.cut - cut)

    def _about(self, offset: Offset) -> tuple[Values, Values]:
        """Give the least room and the least wall of each draw about a centre, before any cut."""
        centre = offset.x, offset.y
        if centre not in self.least:
            cosine, sine = unit_vectors(self.degrees)
            taken = offset.x * cosine + offset.y * sine
            walls = (self.walls - taken).min(axis=1)
            room = walls - self.required[0]
            if (self.required != self.required[0]).any():
                room = (self.walls - (self.required + taken)).min(axis=1)
            self.least[centre] = room, walls
        return self.least[centre]


def round_walls(draws: BoreDraws, shared: float, confidence: float) -> RoundWalls:
    """Lay out the walls of one bore by direction; `shared` is the error all readings share."""
    known = ~np.isnan(draws.searched_degrees)
    lost = np.flatnonzero(~known)
    around = np.linspace(0.0, 360.0, ROUND, endpoint=False)
    degrees = np.concatenate(
        [draws.degrees, draws.searched_degrees[known], np.tile(around, lost.size)]
    )
    columns = np.concatenate([np.flatnonzero(known), np.repeat(lost, ROUND)]).astype(np.int64)
    # A row a point: the least over points is then taken of all draws at once.
    walls = np.concatenate([draws.draws.T, draws.searched.T[columns]])
    spread = np.hypot(draws.standard_error, shared)
    spread = np.concatenate([spread, draws.searched.std(axis=0)[columns]])
    mean = np.concatenate([draws.mean, draws.searched_mean[columns]])
    below = mean[:, None] - walls
    below /= np.where(spread > 0, spread, np.inf)[:, None]
    safe = mean - float(np.quantile(below.max(axis=0), confidence)) * spread
    unknown = np.arange(degrees.size) >= degrees.size - lost.size * ROUND
    key = degrees % 360.0 + 360.0 * unknown
    order = np.argsort(key, kind="stable")
    first = np.unique(key[order], return_index=True)[1]
    return RoundWalls(
        bore=draws.bore,
        degrees=degrees[order][first],
        asked=np.where(unknown, np.nan, degrees)[order][first],
        walls=np.minimum.reduceat(walls[order], first, axis=0).T,
        safe=np.minimum.reduceat(safe[order], first),
    )


def room_of(found: RoundWalls, limits: WallLimits, scale: float) -> Room:
    """Take off what must stay; `scale` turns the unit of the limits into that of the walls."""
    required = limits.required(found.asked) * scale
    asked_for = np.isfinite(required)
    walls = found.walls if asked_for.all() else found.walls[:, asked_for]
    required = required[asked_for]
    return Room(
        bore=found.bore,
        degrees=found.degrees[asked_for],
        walls=walls,
        required=required,
        safe=found.safe[asked_for] - required,
    )
