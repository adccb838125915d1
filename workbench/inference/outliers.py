"""Values far from the rest: reported with their odds, never dropped.

A far block may be a slip of the gauge or the most interesting casting of all; striking it out is
for the person who knows why. These tests take normal values: a skewed family shows "outliers" that
belong to it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtr, stdtrit

from workbench.errors import Refusal
from workbench.inference.results import check_confidence
from workbench.inference.samples import Values, clean_values, require_spread

SIDES = ("both", "upper", "lower")
LEAST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """The value furthest out: its place (from 0), its distance in standard deviations, and p."""

    place: int
    value: float
    statistic: float
    p_value: float
    n: int
    side: str

    def critical(self, confidence: float = 0.95) -> float:
        """Give the distance a single far value exceeds only once in 1 / (1 - confidence)."""
        check_confidence(confidence)
        return _critical(self.n, 1 - confidence, self.side)


def grubbs(values: ArrayLike, side: str = "both") -> Suspect:
    """Answer whether the value furthest from the mean is too far for a normal family.

    Parameters
    ----------
    values : array_like
        One number a block, three or more.
    side : {"both", "upper", "lower"}
        Chosen before looking: where a far value is looked for.

    Raises
    ------
    Refusal
        `unknown_side`, `too_few`, `zero_spread`, `not_finite`.

    References
    ----------
    Grubbs, F. E. (1969). Procedures for detecting outlying observations in samples. Technometrics
    11, 1-21 (from memory).

    Examples
    --------
    >>> wire = [568, 570, 570, 570, 572, 572, 572, 578, 584, 596]
    >>> found = grubbs(wire, "upper")
    >>> f"{found.value:.0f}: {found.statistic:.2f}, critical {found.critical():.3f}"
    '596: 2.39, critical 2.176'
    """
    row = clean_values(values, least=LEAST)
    require_spread(row)
    if side not in SIDES:
        raise Refusal("unknown_side", f"The side is one of {SIDES}, not {side!r}.")
    place, distance = _furthest(row, side)
    return Suspect(
        place=place,
        value=float(row[place]),
        statistic=distance,
        p_value=_p(row.size, distance, side),
        n=row.size,
        side=side,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of the search: the value set aside, its distance, and the distance allowed."""

    place: int
    value: float
    statistic: float
    critical: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlierReport:
    """The search for up to so many far values; `suspects` are the places (from 0) found."""

    steps: tuple[Step, ...]
    suspects: tuple[int, ...]
    confidence: float


def generalised_esd(values: ArrayLike, most: int, confidence: float = 0.95) -> OutlierReport:
    """Answer how many values, up to `most`, are too far for a normal family.

    Sets aside the furthest value again and again; the largest step that exceeds its limit counts,
    so that several far values cannot hide one another.

    Parameters
    ----------
    values : array_like
        One number a block; good from about 25 up.
    most : int
        How many far values are looked for, at most n - 2.
    confidence : float
        Of finding none where there is none.

    Raises
    ------
    Refusal
        `bad_count` for `most` below 1 or above n - 2; else as `grubbs`.

    References
    ----------
    Rosner, B. (1983). Percentage points for a generalized ESD many-outlier procedure.
    Technometrics 25, 165-172 (from memory).
    """
    check_confidence(confidence)
    row = clean_values(values, least=LEAST)
    require_spread(row)
    if most != int(most) or not 1 <= most <= row.size - 2:
        raise Refusal(
            "bad_count", f"From 1 to {row.size - 2} values can be looked for here, not {most}."
        )
    kept, steps = np.arange(row.size), []
    for _ in range(int(most)):
        if np.ptp(row[kept]) == 0:
            break
        at, distance = _furthest(row[kept], "both")
        place = int(kept[at])
        limit = _critical(kept.size, 1 - confidence, "both")
        steps.append(Step(place=place, value=float(row[place]), statistic=distance, critical=limit))
        kept = np.delete(kept, at)
    beyond = [number for number, step in enumerate(steps, 1) if step.statistic > step.critical]
    found = max(beyond, default=0)
    return OutlierReport(
        steps=tuple(steps),
        suspects=tuple(step.place for step in steps[:found]),
        confidence=confidence,
    )


def _furthest(row: Values, side: str) -> tuple[int, float]:
    apart = (row - row.mean()) / row.std(ddof=1)
    if side != "upper":
        apart = -apart if side == "lower" else np.abs(apart)
    place = int(apart.argmax())
    return place, float(apart[place])


def _p(n: int, distance: float, side: str) -> float:
    """Give the p of a distance, by the t of the value against all others, times n."""
    room = (n - 1) ** 2 - n * distance**2
    t = math.inf if room <= 0 else math.sqrt(n * (n - 2) / room) * distance
    alone = float(stdtr(n - 2, -t)) * (2 if side == "both" else 1)
    return min(1.0, n * alone)


def _critical(n: int, level: float, side: str) -> float:
    """Give the distance with the p `level`."""
    t = float(stdtrit(n - 2, level / n / (2 if side == "both" else 1)))
    return (n - 1) / math.sqrt(n) * math.sqrt(t**2 / (n - 2 + t**2))
