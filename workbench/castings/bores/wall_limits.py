"""The least wall that is asked for, everywhere or by the side of the bore."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallLimits:
    """A least wall `everywhere`, and other ones at stations; all in `unit`.

    `stations` gives the angle of every station of the drawing, `at` the least wall of those that
    have one of their own. An angle belongs to the station nearest to it. Minus infinity asks
    nothing.
    """

    unit: str
    everywhere: float = -math.inf
    stations: Mapping[str, float] = field(default_factory=dict)
    at: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse limits that are no numbers, and stations without an angle."""
        asked = [value for value in (self.everywhere, *self.at.values()) if value != -math.inf]
        if not asked or not all(math.isfinite(value) for value in asked):
            raise Refusal("no_wall_limit", "No least wall is asked for.")
        lost = [name for name in self.at if name not in self.stations]
        if lost:
            raise Refusal("unknown_station", f"The drawing gives no angle for “{lost[0]}”.")

    @property
    def strictest(self) -> float:
        """The largest of the limits: what a place of unknown angle must keep."""
        return max(self.everywhere, *self.at.values(), -math.inf)

    def required(self, degrees: Values) -> Values:
        """Give the least wall asked for at angles; the strictest where an angle is NaN."""
        answer = np.full(degrees.shape, self.everywhere)
        if self.at:
            names = list(self.stations)
            angles = np.array([self.stations[name] for name in names])
            own = np.array([self.at.get(name, self.everywhere) for name in names])
            known = np.nan_to_num(degrees)
            apart = np.abs((known[..., None] - angles + 180.0) % 360.0 - 180.0)
            answer = own[apart.argmin(axis=-1)]
        return np.where(np.isnan(degrees), self.strictest, answer)
