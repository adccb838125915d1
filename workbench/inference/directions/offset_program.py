"""Where to centre a larger circle in an uneven ring: two small programs over the angles.

Moving the centre by an offset o takes o . u more off the ring at the angle with unit vector u, to
first order. The exact cut of a circle of radius r + h about o is smaller: it is o . u +
sqrt((r + h)^2 - |o x u|^2) - r, below h + o . u by |o|^2 / (2 (r + h)) at most. So what these
programs call room is there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.directions.vector import direction_of, unit_vectors

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

FIRST = 6  # angles the search starts with
ROUNDS = 200
SHORT = 1e-12  # of the room: how far a centre found may fall short of what is asked


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
    ring = _ring(degrees, room)
    limit = _within(room, limit, clean_up)
    x, y, cut = _highest(ring, limit)
    if math.hypot(x, y) > cut - clean_up:
        found = _highest_clean(ring, limit, clean_up)
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
    x, y, height = _highest(_ring(degrees, room), _within(room, limit, cut))
    return Offset(x=x, y=y, cut=cut, least=height - cut)


def _check(degrees: Values, room: Values, limit: float) -> None:
    if not (limit >= 0):
        raise Refusal("bad_offset_limit", f"An offset is limited to 0 or more, not to {limit}.")
    if not (np.isfinite(degrees).all() and np.isfinite(room).all() and degrees.size):
        raise Refusal("not_finite", "Angles and room must be finite numbers, at least one.")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ring:
    """Unit vectors and room of a ring, each angle once with its least room."""

    cosine: Values
    sine: Values
    room: Values

    def height(self, x: Values, y: Values) -> Values:
        """Give the even cut that each of many centres allows."""
        taken = np.outer(x, self.cosine) + np.outer(y, self.sine)
        height: Values = (self.room - taken).min(axis=1)
        return height

    def of(self, kept: list[int]) -> _Ring:
        """Give some of its angles."""
        return _Ring(cosine=self.cosine[kept], sine=self.sine[kept], room=self.room[kept])

    def worst(self, x: float, y: float) -> int:
        """Give the angle that allows the least about a centre."""
        return int((self.room - x * self.cosine - y * self.sine).argmin())


def _ring(degrees: Values, room: Values) -> _Ring:
    angles, at = np.unique(degrees % 360.0, return_inverse=True)
    least = np.full(angles.size, np.inf)
    np.minimum.at(least, at, room)
    cosine, sine = unit_vectors(angles)
    return _Ring(cosine=cosine, sine=sine, room=least)


def _within(room: Values, limit: float, cut: float) -> float:
    """Give a limit that is never in the way of a ring read all round, where there is none.

    There the cut is a mean of the room at some angles at most, and the offset that at most again.
    """
    return min(limit, 2 * float(np.abs(room).max()) + abs(cut))


def _highest(ring: _Ring, limit: float) -> tuple[float, float, float]:
    """Give the centre within `limit` about which the even cut is largest, and that cut.

    The cut is the least of many planes over the centre, so it is largest where three of them meet,
    or two on the circle of the limit, or where one is highest on that circle.
    """
    found = _grown(ring, lambda part: _tops(part, limit), limit=limit)
    assert found is not None  # the centre as it is always is a solution
    return found


def _highest_clean(ring: _Ring, limit: float, clean_up: float) -> tuple[float, float, float] | None:
    """Give the same among centres whose cut also cleans up, where the highest does not.

    A best centre then may also lie where two planes meet the cone of the clean-up; None where no
    centre cleans up.
    """

    def tops(part: _Ring) -> tuple[Values, Values]:
        x, y = _tops(part, limit)
        cone = _on_cone(part, clean_up)
        return np.concatenate([x, cone[0]]), np.concatenate([y, cone[1]])

    return _grown(ring, tops, limit=limit, clean_up=clean_up)


def _grown(
    ring: _Ring,
    tops: Callable[[_Ring], tuple[Values, Values]],
    *,
    limit: float,
    clean_up: float = -math.inf,
) -> tuple[float, float, float] | None:
    """Try a few angles, and add the one that allows least about the centre so found until done.

    Centres found from some angles can only be too good, so none among them means none at all.
    """
    kept = list(range(0, ring.room.size, max(1, ring.room.size // FIRST)))
    grain = SHORT * (1.0 + float(np.abs(ring.room).max()))
    for _ in range(ROUNDS):
        part = ring.of(kept)
        x, y = tops(part)
        height, size = part.height(x, y), np.hypot(x, y)
        allowed = (size <= limit + grain) & (size <= height - clean_up + grain)
        if not allowed.any():
            return None
        best = int(np.where(allowed, height, -np.inf).argmax())
        at = float(x[best]), float(y[best])
        worst = ring.worst(*at)
        whole = float(ring.height(x[[best]], y[[best]])[0])
        if worst in kept or whole >= height[best] - grain:
            return (*at, whole)
        kept.append(worst)
    raise Refusal("no_offset", "The offset could not be worked out.")


def _tops(ring: _Ring, limit: float) -> tuple[Values, Values]:
    """Give every centre that can be the highest within a limit; the centre as it is among them."""
    parts = [(np.zeros(1), np.zeros(1)), _of_three(ring)]
    if math.isfinite(limit):
        parts += [(-limit * ring.cosine, -limit * ring.sine), _on_circle(ring, limit)]
    x, y = (np.concatenate([part[axis] for part in parts]) for axis in (0, 1))
    inside = np.hypot(x, y) <= limit * (1 + SHORT)
    return x[inside], y[inside]


def _of_three(ring: _Ring) -> tuple[Values, Values]:
    """Give the centres over which three planes meet."""
    found = np.array(list(combinations(range(ring.room.size), 3)), dtype=np.int64).reshape(-1, 3)
    a, b, e = _between(ring, found[:, 0], found[:, 1])
    c, d, f = _between(ring, found[:, 0], found[:, 2])
    area = a * d - b * c  # never 0: three different points of a circle lie on no line
    return (e * d - b * f) / area, (a * f - e * c) / area


def _on_circle(ring: _Ring, limit: float) -> tuple[Values, Values]:
    """Give the centres at the limit over which two planes meet."""
    i, j = np.triu_indices(ring.room.size, 1)
    px, py, dx, dy = _line(ring, i, j)
    reach = limit**2 - px**2 - py**2
    met = reach >= 0
    px, py, dx, dy, along = (part[met] for part in (px, py, dx, dy, np.sqrt(np.abs(reach))))
    return (
        np.concatenate([px - along * dx, px + along * dx]),
        np.concatenate([py - along * dy, py + along * dy]),
    )


def _on_cone(ring: _Ring, clean_up: float) -> tuple[Values, Values]:
    """Give the centres over which two planes meet at the height of the clean-up's cone.

    On the line p + t d of two planes |p + t d| = level - t slope, the height less the clean-up. As
    p and d are at right angles, |p|^2 + t^2 = (level - t slope)^2.
    """
    i, j = np.triu_indices(ring.room.size, 1)
    px, py, dx, dy = _line(ring, i, j)
    level = ring.room[i] - px * ring.cosine[i] - py * ring.sine[i] - clean_up
    slope = dx * ring.cosine[i] + dy * ring.sine[i]
    square, linear = 1 - slope**2, 2 * level * slope
    root = linear**2 - 4 * square * (px**2 + py**2 - level**2)
    met = (root >= 0) & (square > 0)
    px, py, dx, dy, square, linear, root = (
        part[met] for part in (px, py, dx, dy, square, linear, root)
    )
    ends = [(-linear + side * np.sqrt(root)) / (2 * square) for side in (-1, 1)]
    return (
        np.concatenate([px + end * dx for end in ends]),
        np.concatenate([py + end * dy for end in ends]),
    )


def _line(ring: _Ring, i: Codes, j: Codes) -> tuple[Values, Values, Values, Values]:
    """Give the line over which two planes meet: its point nearest the centre, and its direction."""
    a, b, e = _between(ring, i, j)
    length = np.hypot(a, b)
    return a * e / length**2, b * e / length**2, -b / length, a / length


def _between(ring: _Ring, i: Codes, j: Codes) -> tuple[Values, Values, Values]:
    """Give a, b, e of the line a x + b y = e over which two planes meet."""
    return (
        ring.cosine[i] - ring.cosine[j],
        ring.sine[i] - ring.sine[j],
        ring.room[i] - ring.room[j],
    )
