"""How far the bores of a block can be bored and still keep the wall that is asked for.

Overbore is on the diameter and counts from the bore as it was when its walls were read. The first
order is used throughout: it never promises more than is there (`offset_program`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from workbench.castings.answers import Answers
from workbench.castings.bores.between_bores import bridge_left
from workbench.castings.bores.boring_room import (
    NO_OFFSET,
    Room,
    RoundWalls,
    room_of,
    round_walls,
)
from workbench.castings.bores.boring_together import (
    if_sleeved,
    least_left,
    limiting_bore,
    offsets_for,
    one_size_for,
    sure,
    together,
)
from workbench.castings.bores.mass_bored import mass_removed
from workbench.castings.bores.wall_draws import BlockDraws, not_all_round
from workbench.castings.bores.wall_limits import WallLimits
from workbench.castings.cautions import CAUTIONS
from workbench.castings.stated_rules import Boring
from workbench.errors import Refusal
from workbench.inference.directions.offset_program import Offset
from workbench.inference.estimates import Estimate
from workbench.inference.results import check_confidence
from workbench.records.settings import Drawing
from workbench.records.units import factor

Values = NDArray[np.float64]
Fits = Literal["fits", "does_not_fit", "too_close"]

UNLIMITED = math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Overbore:
    """The largest overbore (on the diameter) at the stated confidence, and the centre it needs.

    Below 0 the wall is short already, by half of it. `offset` moves the centre of the machine off
    that of the bore as it is.
    """

    overbore: float
    offset: Offset


@dataclass(frozen=True, slots=True, kw_only=True)
class BoreAllowance:
    """One bore: the largest overbore about its own centre, and about the best one."""

    bore: str
    central: Overbore
    best: Overbore


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeAllowance:
    """One oversize in all bores, each about its best centre.

    Attributes
    ----------
    probability
        That the wall asked for stays everywhere in every bore.
    outcome
        "fits" where that is at least the confidence, "does_not_fit" where its contrary is.
    least_wall
        The least wall left in the block; `cuts_through` tells whether its interval reaches 0.
    limiting
        The bore that most often has the least room.
    cleans_up
        Whether the oversize is enough to leave nothing of the old bores.
    """

    oversize: float
    probability: float
    outcome: Fits
    least_wall: Estimate
    cuts_through: bool
    limiting: str
    cleans_up: bool
    offsets: dict[str, Offset]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoringAllowance:
    """The room for boring of one block, in `unit`; every figure carries `cautions`.

    Attributes
    ----------
    bores
        Each bore by itself.
    one_size
        The largest overbore for all bores alike, with the offset of each; `central` without any.
    limiting
        The bore that limits it.
    if_sleeved
        By bore: the one size of the others once this bore is sleeved and no longer limits. What the
        sleeve itself needs is not in it.
    sizes
        The oversizes of the study's list.
    bridges
        By the bore in front: metal left to the next bore after `one_size`.
    mass_removed
        Kilograms bored away by `one_size` from all bores; None where the drawing lacks a length.
    not_answered
        What could not be answered, and why.
    """

    block: str
    unit: str
    confidence: float
    limits: WallLimits
    bores: dict[str, BoreAllowance]
    one_size: float
    offsets: dict[str, Offset]
    central: float
    limiting: str
    if_sleeved: dict[str, float]
    sizes: tuple[SizeAllowance, ...]
    bridges: dict[str, float]
    mass_removed: float | None
    not_answered: dict[str, str]
    rooms: dict[str, Room]
    offset_limit: float
    clean_up: float
    cautions: tuple[str, ...] = CAUTIONS

    def at(self, overbore: float) -> SizeAllowance:
        """Answer for any overbore what the list of oversizes is answered for."""
        return _size(self.rooms, overbore, self.offset_limit, self.clean_up, self.confidence)

    def least_wall(self, bore: str, overbore: float, *, central: bool = False) -> Estimate:
        """Give the least wall an overbore leaves in one bore, about its best centre or its own."""
        room, cut = self.rooms[bore], overbore / 2
        offset = NO_OFFSET if central else room.offset_for(cut, self.offset_limit, self.clean_up)
        return _estimate(room.least_wall(cut, offset), self.confidence)


def boring_allowance(
    draws: BlockDraws,
    limits: WallLimits,
    *,
    asked: Boring | None = None,
    drawing: Drawing | None = None,
    gauge_uncertainty: float = 0.0,
    confidence: float = 0.95,
    laid: Mapping[str, RoundWalls] | None = None,
) -> BoringAllowance:
    """Answer how far a block can be bored so that the wall asked for stays everywhere.

    "Everywhere" is all round and from the first depth read to the last; above and below nothing is
    known. The statement holds with the stated confidence for a bore, and for all bores at once.

    Parameters
    ----------
    draws : BlockDraws
        The walls as they may be.
    limits : WallLimits
        What must stay.
    asked : Boring, optional
        The study's `[boring]`: oversizes, limit of the offset, clean-up, density.
    drawing : Drawing, optional
        For the metal between bores and the mass removed.
    gauge_uncertainty : float
        The error all readings share, as it is in the draws (`Places.gauge_uncertainty`).
    laid : mapping, optional
        What `walls_laid_out` gives for these draws, so that several limits share it.

    Raises
    ------
    Refusal
        `not_all_round` where a bore was not read, or not all round; `bad_confidence`.
    """
    check_confidence(confidence)
    asked = asked or Boring()
    if not draws.all_round:
        raise Refusal("not_all_round", not_all_round(draws))
    scale = factor(asked.unit, draws.unit)
    limit = UNLIMITED if asked.largest_offset is None else asked.largest_offset * scale
    clean_up, in_walls = asked.clean_up * scale, factor(limits.unit, draws.unit)
    laid = laid or walls_laid_out(draws, gauge_uncertainty, confidence)
    rooms = {name: room_of(walls, limits, in_walls) for name, walls in laid.items()}
    best = {name: room.largest_cut(limit, clean_up) for name, room in rooms.items()}
    cut, offsets = one_size_for(rooms, best, limit, clean_up, confidence)
    none = dict.fromkeys(rooms, NO_OFFSET)
    answers = Answers()
    return BoringAllowance(
        block=draws.block,
        unit=draws.unit,
        confidence=confidence,
        limits=limits,
        bores={name: _bore(room, best[name], confidence) for name, room in rooms.items()},
        one_size=2 * cut,
        offsets=offsets,
        central=2 * sure(together(rooms, none), confidence),
        limiting=limiting_bore(rooms, offsets),
        if_sleeved=if_sleeved(rooms, best, limit, clean_up, confidence),
        sizes=tuple(
            _size(rooms, size * scale, limit, clean_up, confidence) for size in asked.oversizes
        ),
        bridges=answers.of("bridges", lambda: _bridges(drawing, draws, 2 * cut, offsets)) or {},
        mass_removed=answers.of(
            "mass_removed", lambda: mass_removed(drawing, draws.unit, 2 * cut, asked.density)
        ),
        not_answered=answers.refused,
        rooms=rooms,
        offset_limit=limit,
        clean_up=clean_up,
    )


def walls_laid_out(
    draws: BlockDraws, gauge_uncertainty: float, confidence: float
) -> dict[str, RoundWalls]:
    """Lay out the walls of every bore by direction, for any limits to be held against."""
    each = 1 - (1 - confidence) / len(draws.bores)  # so that all bores hold together
    return {name: round_walls(bore, gauge_uncertainty, each) for name, bore in draws.bores.items()}


def _bore(room: Room, best: Offset, confidence: float) -> BoreAllowance:
    """Take the better of the bore's own centre and the best offset, each by its draws."""
    central = sure(room.least_room(NO_OFFSET), confidence)
    moved = sure(room.least_room(best), confidence)
    if moved <= central:
        best, moved = NO_OFFSET, central
    return BoreAllowance(
        bore=room.bore,
        central=Overbore(overbore=2 * central, offset=NO_OFFSET),
        best=Overbore(overbore=2 * moved, offset=best),
    )


def _size(
    rooms: dict[str, Room], oversize: float, limit: float, clean_up: float, confidence: float
) -> SizeAllowance:
    cut = oversize / 2
    offsets = offsets_for(rooms, cut, limit, clean_up, confidence)
    probability = float(np.mean(together(rooms, offsets) >= cut))
    outcome: Fits = "too_close"
    if probability >= confidence:
        outcome = "fits"
    elif 1 - probability >= confidence:
        outcome = "does_not_fit"
    left = _estimate(least_left(rooms, cut, offsets), confidence)
    return SizeAllowance(
        oversize=oversize,
        probability=probability,
        outcome=outcome,
        least_wall=left,
        cuts_through=left.low <= 0,
        limiting=limiting_bore(rooms, offsets),
        cleans_up=cut >= clean_up,
        offsets=offsets,
    )


def _estimate(draws: Values, confidence: float) -> Estimate:
    tail = (1 - confidence) / 2
    low, middle, high = (float(end) for end in np.quantile(draws, [tail, 0.5, 1 - tail]))
    return Estimate(
        estimate=middle, low=low, high=high, confidence=confidence, method="drawn walls"
    )


def _bridges(
    drawing: Drawing | None, draws: BlockDraws, overbore: float, offsets: dict[str, Offset]
) -> dict[str, float]:
    names = [name for name in draws.bores if name.isdigit()]
    return {
        name: bridge_left(
            drawing, draws.unit, max(0.0, overbore), offsets[name].x, offsets[str(int(name) + 1)].x
        )
        for name in names
        if str(int(name) + 1) in offsets
    }
