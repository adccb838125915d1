"""Where to centre a larger circle in an uneven ring: two linear programs over the angles.

Moving the centre by an offset o takes o . u more off the ring at the angle with unit vector u, to
first order. The exact cut of a circle of radius r + h about o is smaller: it is o . u +
sqrt((r + h)^2 - |o x u|^2) - r, below h + o . u by |o|^2 / (2 (r + h)) at most. So what these
programs call room is there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from workbench.errors import Refusal
from workbench.inference.directions.vector import direction_of, unit_vectors

Values = NDArray[np.float64]

CORNERS = 180  # of the polygon that stands, from inside, for the circle of allowed offsets


@dataclass(frozen=True, slots=True, kw_only=True)
class Offset:
    """A centre moved by (`x`, `y`), and what that gives: `cut`, even all round, or `least` room."""

    x: float
    y: float
    cut: float
    least: float

    @property
    def size(self) -> float:
        """How far the centre moves."""
        return math.hypot(self.x, self.y)

    @property
    def direction(self) -> float:
        """Which way, in degrees, 0 to 360."""
        return direction_of(self.x, self.y)


def largest_cut(degrees: Values, room: Values, *, limit: float, clean_up: float = 0.0) -> Offset:
    """Answer how much can be cut off a ring all round, and about which centre.

    Maximises h over h and the offset o so that h + o . u <= room at every angle, |o| <= limit and
    h - |o| >= clean_up: the new circle leaves nothing of the old one.

    Parameters
    ----------
    degrees, room
        Angles, and how much may go at each; the same unit throughout. May be below 0.
    limit
        The furthest the centre may move; infinite for no limit but the clean-up.
    clean_up
        The least cut at any angle.

    Returns
    -------
    Offset
        With `least` 0 where the room is used up. Where no cut cleans up, the centre stays and `cut`
        is the least room, below `clean_up`.

    Raises
    ------
    Refusal
        `bad_offset_limit` below 0; `not_finite`.

    Examples
    --------
    >>> best = largest_cut(np.array([0.0, 90, 180, 270]), np.array([1.0, 2, 3, 2]), limit=math.inf)
    >>> f"cut {best.cut:.2f}, {best.size:.2f} off centre to {best.direction:.0f} degrees"
    'cut 2.00, 1.00 off centre to 180 degrees'
    """
    _check(degrees, room, limit)
    cosine, sine = unit_vectors(degrees)
    ring = np.column_stack([cosine, sine, np.ones(degrees.size)])
    edge = _edge()
    within = math.cos(math.pi / CORNERS)
    clean = np.column_stack([edge, np.full(CORNERS, -within)])
    rows, bounds = [ring, clean], [room, np.full(CORNERS, -clean_up * within)]
    if math.isfinite(limit):
        rows.append(np.column_stack([edge, np.zeros(CORNERS)]))
        bounds.append(np.full(CORNERS, limit * within))
    found = _solve(np.array([0.0, 0.0, -1.0]), np.vstack(rows), np.concatenate(bounds))
    if found is None:
        return Offset(x=0.0, y=0.0, cut=float(room.min()), least=0.0)
    x, y, cut = found
    return Offset(x=x, y=y, cut=cut, least=0.0)


def best_offset(degrees: Values, room: Values, *, cut: float, limit: float) -> Offset:
    """Answer about which centre a given cut leaves the most at the angle that has least.

    Maximises m over m and o so that m + cut + o . u <= room at every angle and |o| <= limit; `m`
    comes back as `least` and may be below 0.
    """
    _check(degrees, room, limit)
    cosine, sine = unit_vectors(degrees)
    ring = np.column_stack([cosine, sine, np.ones(degrees.size)])
    within = min(limit, float(np.abs(room).max()) * 4 + abs(cut)) * math.cos(math.pi / CORNERS)
    circle = np.column_stack([_edge(), np.zeros(CORNERS)])
    found = _solve(
        np.array([0.0, 0.0, -1.0]),
        np.vstack([ring, circle]),
        np.concatenate([room - cut, np.full(CORNERS, within)]),
    )
    assert found is not None  # the centre as it is always is a solution
    x, y, least = found
    return Offset(x=x, y=y, cut=cut, least=least)


def _edge() -> Values:
    degrees: Values = np.linspace(0.0, 360.0, CORNERS, endpoint=False).astype(float)
    return np.column_stack(unit_vectors(degrees))


def _check(degrees: Values, room: Values, limit: float) -> None:
    if not (limit >= 0):
        raise Refusal("bad_offset_limit", f"An offset is limited to 0 or more, not to {limit}.")
    if not (np.isfinite(degrees).all() and np.isfinite(room).all() and degrees.size):
        raise Refusal("not_finite", "Angles and room must be finite numbers, at least one.")


def _solve(cost: Values, rows: Values, bounds: Values) -> tuple[float, float, float] | None:
    answer = linprog(cost, A_ub=rows, b_ub=bounds, bounds=(None, None), method="highs")
    if answer.status == 2:  # no solution
        return None
    if answer.status != 0:
        raise Refusal("no_offset", f"The offset could not be worked out: {answer.message}")
    x, y, value = (float(part) for part in answer.x)
    return x, y, value
