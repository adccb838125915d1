"""The bores of a block cut alike: their centres, the room all of them allow, the wall left."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from workbench.castings.bores.boring_room import NO_OFFSET, Room
from workbench.inference.directions.offset_program import Offset

Values = NDArray[np.float64]


def offsets_for(
    rooms: dict[str, Room], cut: float, limit: float, clean_up: float, confidence: float
) -> dict[str, Offset]:
    """Give the centres for a cut: the best by the safe surface, or their own where safer."""
    moved = {name: room.offset_for(cut, limit, clean_up) for name, room in rooms.items()}
    none = dict.fromkeys(rooms, NO_OFFSET)
    gain = sure(together(rooms, moved), confidence) - sure(together(rooms, none), confidence)
    return moved if gain > 0 else none


def least_left(rooms: dict[str, Room], cut: float, offsets: dict[str, Offset]) -> Values:
    """Give, for each draw, the least wall that a cut leaves in all bores."""
    least: Values = np.min(
        [room.least_wall(cut, offsets[name]) for name, room in rooms.items()], axis=0
    )
    return least


def together(rooms: dict[str, Room], offsets: dict[str, Offset]) -> Values:
    """Give, for each draw, the cut that all bores allow."""
    least: Values = np.min([room.least_room(offsets[name]) for name, room in rooms.items()], axis=0)
    return least


def limiting_bore(rooms: dict[str, Room], offsets: dict[str, Offset]) -> str:
    """Give the bore that most often has the least room."""
    names = list(rooms)
    each = np.array([rooms[name].least_room(offsets[name]) for name in names])
    return names[int(np.bincount(each.argmin(axis=0), minlength=len(names)).argmax())]


def sure(draws: Values, confidence: float) -> float:
    """Give what the draws reach with the confidence."""
    return float(np.quantile(draws, 1 - confidence))


def one_size_for(
    rooms: dict[str, Room],
    best: dict[str, Offset],
    limit: float,
    clean_up: float,
    confidence: float,
) -> tuple[float, dict[str, Offset]]:
    """Give the largest common cut and the offset of each bore.

    The offsets are those for the largest cut that is safe in every bore; with them the draws allow
    at least that cut.
    """
    safe = min(best[name].cut for name in rooms)
    offsets = offsets_for(rooms, safe, limit, clean_up, confidence)
    return sure(together(rooms, offsets), confidence), offsets


def if_sleeved(
    rooms: dict[str, Room],
    best: dict[str, Offset],
    limit: float,
    clean_up: float,
    confidence: float,
) -> dict[str, float]:
    """Give, by bore, the one size of the others once it is sleeved and limits no longer."""
    if len(rooms) < 2:
        return {}
    answer = {}
    for name in rooms:
        others = {other: room for other, room in rooms.items() if other != name}
        answer[name] = 2 * one_size_for(others, best, limit, clean_up, confidence)[0]
    return answer
