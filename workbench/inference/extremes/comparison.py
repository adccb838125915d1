"""Two families compared where they are thin: the thinnest place expected, and shares below."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri, stdtrit

from workbench.errors import Refusal
from workbench.inference.even import even_points
from workbench.inference.extremes.block_minimum import check_grid
from workbench.inference.extremes.nested_integral import (
    Parameters,
    expected_thinnest,
    shares_below,
)
from workbench.inference.extremes.share_below import UNITS, check_near
from workbench.inference.nested.nested_study import NestedSquares
from workbench.inference.results import Interval, check_confidence

Values = NDArray[np.float64]

NO_ERRORS = (0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnFigure:
    """A figure of one family, and draws of it in rising order: what the readings leave open.

    `degrees_of_freedom` are those of the spread between blocks behind the draws.
    """

    estimate: float
    draws: Values
    degrees_of_freedom: float = math.inf

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval that cuts equal shares of the draws off, infinite where too few."""
        return drawn_interval(self.draws, confidence)

    @property
    def variance(self) -> float:
        """The square of its standard error, the spreads taken as they are estimated.

        Draws of few blocks have the tails of Student's t, so their own variance may be infinite:
        the middle half of the draws is held against that of t.
        """
        low, high = np.quantile(self.draws, [0.25, 0.75])
        return float(((high - low) / (2 * stdtrit(self.degrees_of_freedom, 0.75))) ** 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnDifference:
    """Candidate minus reference, and draws of it in rising order: what the readings leave open.

    A p against a boundary is the share of draws on the far side of it, the boundary counted in; an
    interval holds exactly the boundaries whose p is not small. `families` are those compared, and
    `shared` an independent standard uncertainty that was added.
    """

    estimate: float
    draws: Values
    method: str
    families: tuple[DrawnFigure, DrawnFigure]
    shared: float = 0.0

    @property
    def standard_error(self) -> float:
        """That of both families and what they share, the spreads taken as they are estimated."""
        return math.sqrt(sum(family.variance for family in self.families) + self.shared**2)

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval that cuts equal shares of the draws off, infinite where too few."""
        return drawn_interval(self.draws, confidence)

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        below = int(np.searchsorted(self.draws, margin, side="right"))
        return (1 + below) / (1 + self.draws.size)

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        above = self.draws.size - int(np.searchsorted(self.draws, margin, side="left"))
        return (1 + above) / (1 + self.draws.size)

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the boundary `margin`."""
        return min(1.0, 2 * min(self.p_above(margin), self.p_below(margin)))

    def widened(self, shared: float, *, seed: int | Sequence[int]) -> DrawnDifference:
        """Add an independent normal uncertainty that no further reading averages out."""
        if not (shared >= 0 and math.isfinite(shared)):
            raise Refusal("bad_uncertainty", f"A standard uncertainty is 0 or more, not {shared}.")
        noise = ndtri(even_points(self.draws.size, 1, np.random.default_rng(seed))[:, 0])
        return replace(
            self,
            draws=np.sort(self.draws + shared * noise),
            shared=math.hypot(self.shared, shared),
        )


def drawn_interval(draws: Values, confidence: float) -> Interval:
    """Give the interval of the boundaries that neither tail of the sorted draws refuses."""
    check_confidence(confidence)
    cut = math.ceil((1 - confidence) / 2 * (draws.size + 1) - 1e-9) - 1
    if cut < 1:
        return Interval(low=-math.inf, high=math.inf, confidence=confidence)
    return Interval(low=float(draws[cut - 1]), high=float(draws[-cut]), confidence=confidence)


def thinnest_difference(
    candidate: NestedSquares,
    reference: NestedSquares,
    *,
    bores: int,
    seed: int | Sequence[int],
    error_variances: tuple[float, float] = NO_ERRORS,
    draws: int = 1999,
) -> DrawnDifference:
    """Answer how much thicker the candidate is at the thinnest place of a block, on average.

    Parameters
    ----------
    candidate, reference : NestedSquares
        Of readings on the same grid: from `squares.pooled_squares`, whose families share
        their spreads, or each from its own study.
    bores : int
        Bores of a block, the same in both.
    seed : int or sequence of int
    error_variances : pair of float
        The variance that the error of reading leaves in the values of places, of candidate and
        reference; it is taken off that of places.
    draws : int

    Returns
    -------
    DrawnDifference
        Positive when the candidate's thinnest place is the thicker.

    Raises
    ------
    Refusal
        `unlike_grids` where the two were not read at the same places: the thinnest of more readings
        is thinner. `bad_count`, `bad_variance`.
    """
    check_grid(bores, 100, *error_variances)
    both = _both(candidate, reference, seed, draws, error_variances)
    thinnest = [expected_thinnest(part, bores) for part in both]
    at = [
        float(expected_thinnest(Parameters.estimated(squares, error), bores)[0])
        for squares, error in zip((candidate, reference), error_variances, strict=True)
    ]
    return _apart(
        at, thinnest, (candidate, reference), "expected thinnest place of a block, nested model"
    )


def share_below_difference(
    candidate: NestedSquares,
    reference: NestedSquares,
    limit: float,
    unit: str = "block",
    *,
    bores: int,
    seed: int | Sequence[int],
    error_variances: tuple[float, float] = NO_ERRORS,
    draws: int = 1999,
) -> DrawnDifference:
    """Answer how much larger the candidate's share below a limit is.

    Parameters and refusals are those of `thinnest_difference` and `share_below.share_below`;
    positive when more of the candidate lies below.
    """
    check_grid(bores, 100, *error_variances)
    if unit not in UNITS:
        raise Refusal("unknown_unit", f"The share is of {', '.join(UNITS)}, not of {unit!r}.")
    limits = np.array([float(limit)])
    for squares in (candidate, reference):
        check_near(squares, limits)
    both = _both(candidate, reference, seed, draws, error_variances)
    shares = [shares_below(part, {unit: limits}, bores)[unit][:, 0] for part in both]
    at = [
        float(shares_below(Parameters.estimated(s, error), {unit: limits}, bores)[unit][0, 0])
        for s, error in zip((candidate, reference), error_variances, strict=True)
    ]
    return _apart(
        at, shares, (candidate, reference), f"share of {unit}s below {limit:g}, nested model"
    )


def _apart(
    at: list[float], draws: list[Values], squares: tuple[NestedSquares, NestedSquares], method: str
) -> DrawnDifference:
    own, other = (
        DrawnFigure(
            estimate=one, draws=np.sort(row), degrees_of_freedom=of.block.degrees_of_freedom
        )
        for one, row, of in zip(at, draws, squares, strict=True)
    )
    return DrawnDifference(
        estimate=at[0] - at[1],
        draws=np.sort(draws[0] - draws[1]),
        method=method,
        families=(own, other),
    )


def _both(
    candidate: NestedSquares,
    reference: NestedSquares,
    seed: int | Sequence[int],
    draws: int,
    error_variances: tuple[float, float],
) -> tuple[Parameters, Parameters]:
    """Draw both, with the same mean square at each level where they share it."""
    if set(candidate.pattern) != set(reference.pattern):
        only = sorted(set(candidate.pattern) ^ set(reference.pattern))
        raise Refusal(
            "unlike_grids",
            f"{len(only)} places, the first {only[0]}, were read in one family only; the thinnest "
            "of more readings is thinner, so keep the places both were read at.",
        )
    sequences = np.random.SeedSequence(seed).spawn(3)
    together, *apart = (np.random.default_rng(sequence) for sequence in sequences)
    points = even_points(draws, 8, together)
    # of block, bore and place square: one column where both families share it
    levels = enumerate(("block", "bore", "place"))
    columns = [at + 4 * (getattr(candidate, of) != getattr(reference, of)) for at, of in levels]
    drawn = (
        candidate.draws(draws, apart[0], points[:, :4]),
        reference.draws(draws, apart[1], points[:, [*columns, 7]]),
    )
    own, other = error_variances
    return Parameters.drawn(drawn[0], own), Parameters.drawn(drawn[1], other)
