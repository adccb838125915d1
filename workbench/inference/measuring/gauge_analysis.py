"""Analyse a gauge study: parts read several times, by one or several operators.

A balanced study goes through an analysis of variance with modified large-sample intervals, any
other through restricted maximum likelihood with profile intervals; `GaugeStudy.method` says which.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import fdtrc

from workbench.errors import Refusal
from workbench.inference.admissible import paired
from workbench.inference.measuring.gauge_study import (
    INTERACTION,
    OPERATOR,
    PART,
    REPEATABILITY,
    GaugeStudy,
)
from workbench.inference.nested.crossed_fit import RESIDUAL, crossed_fit
from workbench.inference.nested.mean_squares import MeanSquare
from workbench.inference.samples import Values, clean_values

Design = Literal["crossed", "nested"]
Terms = dict[str, dict[str, float]]
POOL_ABOVE = 0.25


def gauge_study(
    part: ArrayLike,
    value: ArrayLike,
    operator: ArrayLike | None = None,
    *,
    design: Design = "crossed",
    pool_above: float = POOL_ABOVE,
) -> GaugeStudy:
    """Split the spread of readings into gauge, operators and parts, all taken as drawn by chance.

    Parameters
    ----------
    part, value, operator
        One entry a reading. Without `operator` there is no reproducibility.
    design
        "crossed" when operators read the same parts; "nested" when each part belongs to one
        operator (labels of parts need be unique within an operator only).
    pool_above
        The interaction of a balanced crossed study joins the repeatability when its p is above
        this; 1 keeps it always.

    Raises
    ------
    Refusal
        `no_repeats`, `one_level`, `zero_spread`, `bad_design`, `unequal_lengths`, or those of
        `samples.clean_values`.

    Notes
    -----
    Moment estimates and their intervals as in Burdick, Borror & Montgomery (2005), Design and
    Analysis of Gauge R&R Studies, ASA-SIAM (from memory). Other designs by `crossed_fit`.
    """
    if design not in ("crossed", "nested"):
        raise Refusal("bad_design", f"A gauge study is crossed or nested, not {design!r}.")
    y = clean_values(value, least=3, name="the row of readings")
    parts = _codes("part", part, y)
    people = np.zeros(y.size, int) if operator is None else _codes("operator", operator, y)
    if operator is not None and people.max() == 0:
        raise Refusal("one_level", "There is 1 operator; reproducibility needs two or more.")
    if design == "nested":
        parts = _joined(people, parts)
    if parts.max() == 0:
        raise Refusal("one_level", "There is 1 part; its variation needs two or more.")
    if np.ptp(y) == 0:
        raise Refusal("zero_spread", f"All {y.size} readings are equal: there is no spread.")
    cells = _joined(people, parts)
    repeats = np.bincount(cells)
    if repeats.max() == 1:
        raise Refusal("no_repeats", "Nobody read a part twice; the repeatability is not known.")
    if np.ptp(repeats) > 0 or not _even(people, parts, cells, design):
        return _by_likelihood(parts, people, cells, y, design)
    if design == "nested":
        return _nested(parts, people, cells, y)
    return _crossed(parts, people, cells, y, pool_above)


def _crossed(
    parts: np.ndarray, people: np.ndarray, cells: np.ndarray, y: Values, pool_above: float
) -> GaugeStudy:
    p, o = int(parts.max()) + 1, int(people.max()) + 1
    r = y.size // (p * o)
    ss_part, ss_person, ss_cell = (_between(codes, y) for codes in (parts, people, cells))
    ss_both = max(0.0, ss_cell - ss_part - ss_person)
    ss_rest = max(0.0, float(np.sum((y - y.mean()) ** 2)) - ss_cell)
    df_both, df_rest = (p - 1) * (o - 1), p * o * (r - 1)
    if o == 1:
        squares = {PART: _line(ss_part, p - 1), REPEATABILITY: _line(ss_rest, df_rest)}
        terms: Terms = {
            PART: {PART: 1 / r, REPEATABILITY: -1 / r},
            REPEATABILITY: {REPEATABILITY: 1.0},
        }
        return _study(squares, terms, parts, people, "analysis of variance", math.nan, False)
    f = ss_both / df_both / (ss_rest / df_rest) if ss_rest > 0 else math.inf
    p_both = float(fdtrc(df_both, df_rest, f))
    pooled = p_both > pool_above
    squares = {PART: _line(ss_part, p - 1), OPERATOR: _line(ss_person, o - 1)}
    if pooled:
        squares[REPEATABILITY] = _line(ss_both + ss_rest, df_both + df_rest)
        against = REPEATABILITY
    else:
        squares |= {INTERACTION: _line(ss_both, df_both), REPEATABILITY: _line(ss_rest, df_rest)}
        against = INTERACTION
    terms = {
        PART: {PART: 1 / (o * r), against: -1 / (o * r)},
        OPERATOR: {OPERATOR: 1 / (p * r), against: -1 / (p * r)},
        REPEATABILITY: {REPEATABILITY: 1.0},
    }
    if not pooled:
        terms[INTERACTION] = {INTERACTION: 1 / r, REPEATABILITY: -1 / r}
    method = "analysis of variance, parts crossed with operators" + (
        ", interaction pooled" if pooled else ""
    )
    return _study(squares, terms, parts, people, method, p_both, pooled)


def _nested(parts: np.ndarray, people: np.ndarray, cells: np.ndarray, y: Values) -> GaugeStudy:
    o, each = int(people.max()) + 1, (int(parts.max()) + 1) // (int(people.max()) + 1)
    r = y.size // (o * each)
    ss_person, ss_cell = _between(people, y), _between(cells, y)
    ss_rest = max(0.0, float(np.sum((y - y.mean()) ** 2)) - ss_cell)
    squares = {
        OPERATOR: _line(ss_person, o - 1),
        PART: _line(max(0.0, ss_cell - ss_person), o * (each - 1)),
        REPEATABILITY: _line(ss_rest, o * each * (r - 1)),
    }
    terms: Terms = {
        PART: {PART: 1 / r, REPEATABILITY: -1 / r},
        OPERATOR: {OPERATOR: 1 / (each * r), PART: -1 / (each * r)},
        REPEATABILITY: {REPEATABILITY: 1.0},
    }
    method = "analysis of variance, parts within operators"
    return _study(squares, terms, parts, people, method, math.nan, False)


def _study(
    squares: dict[str, MeanSquare],
    terms: Terms,
    parts: np.ndarray,
    people: np.ndarray,
    method: str,
    interaction_p: float,
    pooled: bool,
) -> GaugeStudy:
    found = {
        name: sum(c * squares[line].value for line, c in lines.items())
        for name, lines in terms.items()
    }
    return GaugeStudy(
        components={name: max(0.0, variance) for name, variance in found.items()},
        negative=tuple(name for name, variance in found.items() if variance < 0),
        mean_squares=squares,
        terms=terms,
        interaction_p=interaction_p,
        pooled=pooled,
        method=method,
        parts=int(parts.max()) + 1,
        operators=int(people.max()) + 1,
        readings=parts.size,
        fit=None,
    )


def _by_likelihood(
    parts: np.ndarray, people: np.ndarray, cells: np.ndarray, y: Values, design: Design
) -> GaugeStudy:
    factors = {PART: parts}
    if people.max() > 0:
        factors[OPERATOR] = people
        if design == "crossed" and parts.max() < cells.max() < y.size - 1:
            factors[INTERACTION] = cells
    fit = crossed_fit(factors, y)
    components = {
        REPEATABILITY if name == RESIDUAL else name: variance
        for name, variance in fit.variances.items()
    }
    return GaugeStudy(
        components=components,
        negative=fit.boundary,
        mean_squares={},
        terms={},
        interaction_p=math.nan,
        pooled=False,
        method="restricted maximum likelihood",
        parts=int(parts.max()) + 1,
        operators=int(people.max()) + 1,
        readings=y.size,
        fit=fit,
    )


def _codes(name: str, labels: ArrayLike, y: Values) -> np.ndarray:
    column = np.asarray(labels)
    paired(f"Labels of {name}", column, "readings", y)
    return np.asarray(np.unique(column, return_inverse=True)[1])


def _joined(outer: np.ndarray, inner: np.ndarray) -> np.ndarray:
    return np.asarray(np.unique(outer * (inner.max() + 1) + inner, return_inverse=True)[1])


def _even(people: np.ndarray, parts: np.ndarray, cells: np.ndarray, design: Design) -> bool:
    """Tell whether every operator has every part, or (nested) as many parts, two at least."""
    if design == "crossed":
        return bool(cells.max() + 1 == (people.max() + 1) * (parts.max() + 1))
    owned = np.bincount(people[np.unique(cells, return_index=True)[1]])
    return bool(np.ptp(owned) == 0 and owned[0] > 1)


def _between(codes: np.ndarray, y: Values) -> float:
    counts = np.bincount(codes)
    means = np.bincount(codes, y - y.mean()) / counts
    return float(counts @ means**2)


def _line(squares: float, freedom: int) -> MeanSquare:
    return MeanSquare(value=squares / freedom, degrees_of_freedom=freedom)
