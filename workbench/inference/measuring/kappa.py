"""Do observers who grade the same things agree beyond chance? Kappa, with its interval.

Kappa is (observed - chance) / (1 - chance) agreement: 1 when all agree, 0 when they agree as often
as their habits alone would make them. Where nearly everything is given one grade, chance agreement
is high and kappa low though observers seldom differ: read `observed` beside it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri, stdtrit

from workbench.errors import Refusal
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import Values

Weights = Literal["none", "linear", "quadratic"]
LEAST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Kappa:
    """Agreement of observers beyond chance.

    `observed` and `chance` are agreements from 0 to 1 (weighted where grades are). The degrees of
    freedom are infinite for the large-sample error of two observers.
    """

    estimate: float
    standard_error: float
    degrees_of_freedom: float
    observed: float
    chance: float
    things: int
    observers: int
    method: str

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of kappa, cut at 1."""
        check_confidence(confidence)
        tail = (1 - confidence) / 2
        point = (
            ndtri(tail)
            if math.isinf(self.degrees_of_freedom)
            else stdtrit(self.degrees_of_freedom, tail)
        )
        half = -float(point) * self.standard_error
        return Interval(
            low=max(-1.0, self.estimate - half),
            high=min(1.0, self.estimate + half),
            confidence=confidence,
        )


def two_observers(
    first: Sequence[object],
    second: Sequence[object],
    *,
    weights: Weights = "none",
    levels: Sequence[object] | None = None,
) -> Kappa:
    """Give Cohen's kappa of two observers, weighted for grades that have an order.

    Parameters
    ----------
    first, second
        What each called each thing, in one order; three things or more.
    weights
        "none": a difference is a difference; "linear" or "quadratic": a difference of one grade
        counts less than one of two.
    levels
        All grades, in their order. Needed with weights unless the grades are numbers (then their
        rank counts, not their value).

    Raises
    ------
    Refusal
        `too_few`, `unequal_lengths`, `unknown_grade`, `no_order`, or `one_grade` (both called
        everything the same: agreement beyond chance is not defined).

    References
    ----------
    Cohen (1960), Educational and Psychological Measurement 20:37-46; standard error by Fleiss,
    Cohen & Everitt (1969), Psychological Bulletin 72:323-327.
    """
    if weights not in ("none", "linear", "quadratic"):
        raise Refusal("bad_weights", f"Weights are none, linear or quadratic, not {weights!r}.")
    codes, count = _grades([first, second], levels, ordered=weights != "none")
    shares = np.zeros((count, count))
    np.add.at(shares, (codes[0], codes[1]), 1 / codes[0].size)
    w = _agreement_weights(count, weights)
    rows, columns = shares.sum(axis=1), shares.sum(axis=0)
    observed, chance = float(np.sum(w * shares)), float(rows @ w @ columns)
    _refuse_certain(chance)
    kappa = (observed - chance) / (1 - chance)
    habits = (w @ columns)[:, None] + rows @ w
    variance = (
        np.sum(shares * (w - habits * (1 - kappa)) ** 2) - (kappa - chance * (1 - kappa)) ** 2
    )
    return Kappa(
        estimate=kappa,
        standard_error=math.sqrt(max(0.0, float(variance)) / codes[0].size) / (1 - chance),
        degrees_of_freedom=math.inf,
        observed=observed,
        chance=chance,
        things=codes[0].size,
        observers=2,
        method="Cohen's kappa" + ("" if weights == "none" else f", {weights} weights"),
    )


def several_observers(grades: Sequence[Sequence[object]]) -> Kappa:
    """Give Fleiss' kappa of several observers who each graded every thing.

    Parameters
    ----------
    grades
        One row an observer, two rows or more, things in one order. Which observer gave which
        grade does not enter, so observers may differ from thing to thing.

    Raises
    ------
    Refusal
        `too_few`, `unequal_lengths`, or `one_grade`.

    Notes
    -----
    The standard error is the jackknife over things, the interval t on things - 1: the error of
    Fleiss, Nee & Landis (1979) holds for kappa 0 only and gives no interval.

    References
    ----------
    Fleiss (1971), Psychological Bulletin 76:378-382.
    """
    if len(grades) < 2:
        raise Refusal("too_few", f"Agreement needs two observers, not {len(grades)}.")
    codes, count = _grades(grades, None, ordered=False)
    table = np.zeros((codes[0].size, count))
    for code in codes:
        table[np.arange(code.size), code] += 1
    n, m = table.shape[0], len(codes)
    agreed = np.sum(table * (table - 1), axis=1) / (m * (m - 1))
    observed, chance = _fleiss(agreed.sum(), table.sum(axis=0), n, m)
    _refuse_certain(float(chance))
    left_out = _fleiss(agreed.sum() - agreed, table.sum(axis=0) - table, n - 1, m)
    certain = left_out[1] >= 1 - 1e-12
    if bool(np.any(certain)):
        raise Refusal(
            "one_grade",
            "All but one thing were given one grade; agreement beyond chance cannot be judged.",
        )
    partial = (left_out[0] - left_out[1]) / (1 - left_out[1])
    return Kappa(
        estimate=float((observed - chance) / (1 - chance)),
        standard_error=math.sqrt((n - 1) / n * float(np.sum((partial - partial.mean()) ** 2))),
        degrees_of_freedom=n - 1,
        observed=float(observed),
        chance=float(chance),
        things=n,
        observers=m,
        method="Fleiss' kappa, jackknife over things",
    )


def _fleiss(
    agreed: ArrayLike, totals: Values, things: int, observers: int
) -> tuple[Values, Values]:
    shares = totals / (things * observers)
    return np.asarray(agreed) / things, np.sum(shares**2, axis=-1)


def _agreement_weights(count: int, weights: Weights) -> Values:
    rank = np.arange(count, dtype=float)
    apart: Values = np.abs(rank[:, None] - rank) / max(1, count - 1)
    if weights == "none":
        return np.eye(count)
    return 1 - (apart if weights == "linear" else apart**2)


def _grades(
    rows: Sequence[Sequence[object]], levels: Sequence[object] | None, *, ordered: bool
) -> tuple[list[np.ndarray], int]:
    things = len(rows[0])
    for row in rows[1:]:
        if len(row) != things:
            raise Refusal(
                "unequal_lengths",
                f"Observers grade the same things, but one graded {things} and another {len(row)}.",
            )
    if things < LEAST:
        raise Refusal("too_few", f"Agreement needs {LEAST} things or more, not {things}.")
    seen = {grade for row in rows for grade in row}
    if levels is None:
        numeric = all(isinstance(grade, (int, float, np.number)) for grade in seen)
        if ordered and not numeric:
            raise Refusal("no_order", "Weights need the grades in their order; give `levels`.")
        known = sorted(seen) if numeric else sorted(seen, key=str)  # type: ignore[type-var]
    else:
        known = list(levels)
        unknown = sorted((grade for grade in seen if grade not in known), key=str)
        if unknown:
            raise Refusal(
                "unknown_grade",
                f"“{unknown[0]}” is not among the grades {', '.join(map(str, known))}.",
            )
    place = {grade: number for number, grade in enumerate(known)}
    return [np.array([place[grade] for grade in row]) for row in rows], len(known)


def _refuse_certain(chance: float) -> None:
    if chance >= 1 - 1e-12:
        raise Refusal(
            "one_grade",
            "Everything was given one grade; agreement beyond chance cannot be judged.",
        )
