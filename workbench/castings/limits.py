"""One wall against a limit, given its uncertainty: conforming, not conforming, too close to call.

The guard band is that of ISO 14253-1:2017, the risk that of JCGM 106 for the one wall read; see
`inference.conformity`. Whether a limit is the right one is not asked here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbench.castings.reading_budget import MeanBudget
from workbench.inference.measuring.conformity import (
    Conformity,
    Limits,
    Outcome,
    Risks,
    decide,
    risks,
)
from workbench.records.rounding import quantity_text

WORDS: dict[Outcome, str] = {
    "conforming": "conforms",
    "not_conforming": "does not conform",
    "too_close": "is too close to call",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class AtLimit:
    """A value held against its limits; `measured` is what it was read to be.

    `at_most` tells that it is known only to be not above what was read, which so may speak against
    it and not for it. `family` holds the risks of taking every such place of a family whose spread
    is known, None where none was given.
    """

    measured: MeanBudget
    conformity: Conformity
    family: Risks | None = None
    at_most: bool = False

    @property
    def outcome(self) -> Outcome:
        """Where it stands: `conforming`, `not_conforming` or `too_close`."""
        found = self.conformity.outcome
        return "too_close" if self.at_most and found == "conforming" else found

    @property
    def risk(self) -> float:
        """The chance that the value lies outside its limits, from the reading alone."""
        return 1 - self.conformity.probability

    @property
    def sentence(self) -> str:
        """Say the decision with value, limit, guard band and risk."""
        found, unit = self.conformity, self.measured.unit
        u = found.standard_uncertainty
        value = quantity_text(found.value, u, unit, self.measured.finest)
        band = quantity_text(found.guard_band, u, unit)
        known = f"chance of lying outside {chance(self.risk)}"
        return (
            f"{self.measured.label}: {'at most ' if self.at_most else ''}{value} against "
            f"{_limit_text(found.limits, unit)} {WORDS[self.outcome]} (guard band {band}; "
            f"{'how much less it is, is not known' if self.at_most else known})."
        )


def at_limit(
    measured: MeanBudget,
    *,
    lower: float | None = None,
    upper: float | None = None,
    confidence: float = 0.95,
    family: tuple[float, float] | None = None,
    at_most: bool = False,
) -> AtLimit:
    """Decide whether a value measured lies on the right side of a limit.

    Parameters
    ----------
    measured
        The value with its budget, from `mean_budget`.
    lower, upper
        A least value, a greatest one, or both, in its unit.
    confidence
        What proves conformity or its contrary.
    family
        Mean and standard deviation of such places in the family, where known: then the risks of
        the rule for many blocks are given too.
    at_most
        The value is known only to be not above what was read.

    Raises
    ------
    Refusal
        `bad_limits`, `bad_confidence`, `not_positive` (no uncertainty, or no spread).
    """
    limits = Limits(
        lower=-math.inf if lower is None else lower, upper=math.inf if upper is None else upper
    )
    budget = measured.budget
    found = decide(
        measured.value,
        budget.combined,
        limits,
        confidence=confidence,
        degrees_of_freedom=budget.degrees_of_freedom,
    )
    many = None
    if family is not None:
        mean, spread = family
        many = risks(mean, spread, budget.combined, limits, guard_band=found.guard_band)
    return AtLimit(measured=measured, conformity=found, family=many, at_most=at_most)


def _limit_text(limits: Limits, unit: str) -> str:
    least, most = quantity_text(limits.lower, unit=unit), quantity_text(limits.upper, unit=unit)
    if math.isinf(limits.upper):
        return f"at least {least}"
    if math.isinf(limits.lower):
        return f"at most {most}"
    return f"{least} to {most}"


def chance(share: float) -> str:
    """Give a chance in per cent.

    >>> chance(0.0668), chance(0.0004)
    ('6.7%', 'below 0.1%')
    """
    return "below 0.1%" if share < 0.001 else f"{100 * share:.1f}%"
