"""Is a value on the right side of a limit, given its uncertainty? Three answers, and the risk.

Too close to call is an answer: the value lies within the guard band, where neither conformity nor
its absence is proven.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from scipy.special import ndtr, owens_t, stdtr, stdtrit

from workbench.errors import Refusal
from workbench.inference.admissible import finite, positive
from workbench.inference.results import check_confidence

Outcome = Literal["conforming", "not_conforming", "too_close"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """A lower limit, an upper limit, or both, in the unit of the value."""

    lower: float = -math.inf
    upper: float = math.inf

    def __post_init__(self) -> None:
        """Refuse limits that limit nothing."""
        if math.isnan(self.lower) or math.isnan(self.upper) or not self.lower < self.upper:
            raise Refusal("bad_limits", f"The limits must rise: {self.lower} to {self.upper}.")
        if math.isinf(self.lower) and math.isinf(self.upper):
            raise Refusal("bad_limits", "Give a lower limit, an upper limit, or both.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Conformity:
    """Where a value stands against its limits.

    Attributes
    ----------
    outcome
        "conforming" when the probability of conformity is at least `confidence`, "not_conforming"
        when that of its contrary is, else "too_close".
    probability
        Of conformity, given the value and its uncertainty and nothing else (JCGM 106, 7.3).
    guard_band
        How far inside a single limit a value must lie to conform, and outside it not to.
    """

    outcome: Outcome
    probability: float
    guard_band: float
    value: float
    standard_uncertainty: float
    limits: Limits
    confidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Risks:
    """What a rule of acceptance does to many items (JCGM 106, 9.5).

    `consumer` is the chance that an item is accepted and yet does not conform; `producer` that it
    conforms and is yet rejected; both of all items.
    """

    consumer: float
    producer: float
    accepted: float
    conforming: float


def decide(
    value: float,
    standard_uncertainty: float,
    limits: Limits,
    *,
    confidence: float = 0.95,
    degrees_of_freedom: float = math.inf,
) -> Conformity:
    """Decide whether a value conforms, does not, or lies too close to call.

    The guard band is the one-sided factor (1.65 at 95 %) times the standard uncertainty, as in
    ISO 14253-1:2017 (from memory; the edition of 1998 took the expanded uncertainty, twice it).
    With two limits near each other the probability decides, which then counts both tails.

    Parameters
    ----------
    value, standard_uncertainty
        In one unit with the limits; the uncertainty is above 0.
    confidence
        Probability that proves conformity or its contrary; above 0.5.
    degrees_of_freedom
        Of the standard uncertainty, where it was found from few readings.

    Raises
    ------
    Refusal
        `not_finite`, `not_positive`, `bad_confidence`, `no_degrees_of_freedom`, `bad_limits`.

    Examples
    --------
    A wall of 4.62 mm with u = 0.08 mm against a least wall of 4.50 mm:

    >>> found = decide(4.62, 0.08, Limits(lower=4.50))
    >>> found.outcome, round(found.probability, 4), round(found.guard_band, 3)
    ('too_close', 0.9332, 0.132)
    """
    finite("The value", value)
    positive("The standard uncertainty", standard_uncertainty)
    check_confidence(confidence)
    if confidence <= 0.5:
        raise Refusal("bad_confidence", f"Confidence must be above 0.5, not {confidence}.")
    if not degrees_of_freedom > 0:
        raise Refusal(
            "no_degrees_of_freedom",
            f"The degrees of freedom are {degrees_of_freedom}; they must be above 0.",
        )
    below, above = (
        float(stdtr(degrees_of_freedom, side))
        for side in (
            (limits.lower - value) / standard_uncertainty,
            (value - limits.upper) / standard_uncertainty,
        )
    )
    outside = below + above
    outcome: Outcome = "too_close"
    if 1 - outside >= confidence:
        outcome = "conforming"
    elif outside >= confidence:
        outcome = "not_conforming"
    return Conformity(
        outcome=outcome,
        probability=1 - outside,
        guard_band=float(stdtrit(degrees_of_freedom, confidence)) * standard_uncertainty,
        value=value,
        standard_uncertainty=standard_uncertainty,
        limits=limits,
        confidence=confidence,
    )


def risks(
    mean: float,
    spread: float,
    standard_uncertainty: float,
    limits: Limits,
    *,
    guard_band: float = 0.0,
) -> Risks:
    """Give the risks of accepting every item whose reading lies within the limits less the band.

    Parameters
    ----------
    mean, spread
        Of the true values of all items, taken as normal: what is known before measuring.
    standard_uncertainty
        Of one reading, normal about the true value.
    guard_band
        Taken off inside each limit; negative to accept readings beyond it.

    Raises
    ------
    Refusal
        `not_finite`, `not_positive`, `bad_limits` (the band leaves nothing to accept).
    """
    finite("The mean", mean)
    finite("The guard band", guard_band)
    positive("The spread", spread)
    positive("The standard uncertainty", standard_uncertainty)
    accept = Limits(lower=limits.lower + guard_band, upper=limits.upper - guard_band)
    total = math.hypot(spread, standard_uncertainty)
    true = [(limit - mean) / spread for limit in (limits.lower, limits.upper)]
    read = [(limit - mean) / total for limit in (accept.lower, accept.upper)]
    r = spread / total  # correlation of a reading with the true value behind it
    both = sum((-1) ** (i + j) * _both_below(true[i], read[j], r) for i in (0, 1) for j in (0, 1))
    conforming = float(ndtr(true[1]) - ndtr(true[0]))
    accepted = float(ndtr(read[1]) - ndtr(read[0]))
    return Risks(
        consumer=max(0.0, accepted - both),
        producer=max(0.0, conforming - both),
        accepted=accepted,
        conforming=conforming,
    )


def _both_below(h: float, k: float, r: float) -> float:
    """Give the chance that two standard normals of correlation `r` lie below `h` and `k`.

    By Owen's T function (Owen 1956, Annals of Mathematical Statistics 27:1075-1090).
    """
    if math.isinf(h) or math.isinf(k):
        return 0.0 if -math.inf in (h, k) else float(ndtr(min(h, k)))
    if h == k == 0:
        return 0.25 + math.asin(r) / (2 * math.pi)
    root = math.sqrt(1 - r**2)

    def part(x: float, y: float) -> float:
        return float(owens_t(x, (y / x - r) / root)) if x else math.copysign(0.25, y)

    apart = h * k < 0 or (h * k == 0 and h + k < 0)
    return float(ndtr(h) + ndtr(k)) / 2 - part(h, k) - part(k, h) - 0.5 * apart
