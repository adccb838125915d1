"""What a plan is to show, and how likely it will, given the truth and the error it works with."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from scipy.special import stdtrit

from workbench.errors import Refusal
from workbench.inference.means.margin_power import equivalence_power, superiority_power
from workbench.inference.noncentral import noncentral_t_cdf
from workbench.inference.results import check_confidence
from workbench.inference.roots import root_between

Kind = Literal["greater", "less", "same", "different"]
KINDS = ("greater", "less", "same", "different")
PRECISION = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """A difference (candidate minus reference) to be shown, supposed to be `difference` in truth.

    "greater" than `margin` (below 0: not worse by more), "less" by more than `margin`, the "same"
    within it, or "different" by more than it in either direction. "same" is decided by two
    one-sided tests at `confidence`, the others by the two-sided interval at `confidence`.
    """

    kind: Kind
    difference: float
    margin: float = 0.0
    confidence: float = 0.95

    def __post_init__(self) -> None:
        """Refuse an aim no readings can be held against."""
        check_confidence(self.confidence)
        if self.kind not in KINDS:
            raise Refusal("bad_choice", f"kind is one of {', '.join(KINDS)}, not {self.kind!r}.")
        if not math.isfinite(self.difference):
            raise Refusal("not_finite", f"The difference is finite, not {self.difference}.")
        least = {"same": "above 0", "different": "0 or above"}.get(self.kind, "finite")
        sound = {"same": self.margin > 0, "different": self.margin >= 0}.get(self.kind, True)
        if not (math.isfinite(self.margin) and sound):
            raise Refusal(
                "bad_margin", f"The margin for {self.kind!r} is {least}, not {self.margin}."
            )

    @property
    def reachable(self) -> bool:
        """Whether the supposed truth lies where the aim can be shown at all."""
        return self._beyond > 0

    def power(self, standard_error: float, degrees_of_freedom: float) -> float:
        """Give the chance that the aim is shown with an error of that size and knowledge."""
        if self.kind == "same":
            return equivalence_power(
                difference=self.difference,
                low=-self.margin,
                high=self.margin,
                standard_error=standard_error,
                degrees_of_freedom=degrees_of_freedom,
                confidence=self.confidence,
            )
        upwards = -self.difference if self.kind == "less" else self.difference
        shown = superiority_power(
            difference=upwards,
            margin=self.margin,
            standard_error=standard_error,
            degrees_of_freedom=degrees_of_freedom,
            confidence=self.confidence,
        )
        if self.kind != "different":
            return shown
        bound = float(stdtrit(degrees_of_freedom, (1 + self.confidence) / 2))
        below = (self.difference + self.margin) / standard_error
        return shown + float(noncentral_t_cdf(-bound, degrees_of_freedom, below))

    def error_needed(self, degrees_of_freedom: float, power: float = 0.8) -> float:
        """Give the largest standard error that still reaches `power`; 0 where none does."""
        check_power(power)
        if not self.reachable:
            return 0.0

        def surplus(log: float) -> float:
            return self.power(math.exp(log), degrees_of_freedom) - power

        high = math.log(self._beyond)
        if surplus(high) > 0:  # a power so low that errors beyond the distance itself do
            while surplus(high) > 0 and high < math.log(self._beyond) + 30:
                high += 1.0
            if surplus(high) > 0:
                return math.inf
        low = high - 1.0
        while surplus(low) < 0:
            low -= 1.0
            if low < high - 60:
                return 0.0
        return math.exp(root_between(surplus, low, high, absolute=PRECISION))

    @property
    def _beyond(self) -> float:
        """How far the truth lies beyond the boundary, on the side to be shown."""
        if self.kind == "greater":
            return self.difference - self.margin
        if self.kind == "less":
            return -self.difference - self.margin
        inside = self.margin - abs(self.difference)
        return inside if self.kind == "same" else -inside


def check_power(power: float) -> None:
    """Refuse a power that is not strictly between 0 and 1."""
    if not 0 < power < 1:
        raise Refusal("bad_power", f"Power must lie between 0 and 1, not at {power}.")
