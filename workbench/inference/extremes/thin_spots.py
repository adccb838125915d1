"""Blocks with a place below a limit, told three ways, and where the three disagree."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from numpy.typing import ArrayLike

from workbench.errors import Refusal
from workbench.inference.distributions.fit import Fit, fit_distribution
from workbench.inference.distributions.profile import share_below_interval
from workbench.inference.distributions.readings import FEWEST, Readings
from workbench.inference.estimates import Estimate
from workbench.inference.extremes.counted import counted_below
from workbench.inference.extremes.share_below import share_below
from workbench.inference.nested.nested_study import NestedSquares
from workbench.inference.samples import clean_values

FEWEST_FOR_SHAPE = 20


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThinSpots:
    """The share of blocks with a place below a limit: by the model, by minima, and by counting.

    Attributes
    ----------
    model : Estimate
        From the nested model, on the grid of the study.
    extreme : Estimate or None
        From an extreme-value fit of the blocks' thinnest places; None where `extreme_refused` says
        why.
    counted : Estimate
        Blocks below among those seen, with the exact interval. Assumes no shape.
    fit : Fit or None
        The extreme-value fit: the Gumbel below 20 blocks, for their shape cannot be told.
    disagreements : tuple of str
        A sentence for every two of the three whose intervals do not meet. Counting is then the one
        to believe within its interval: it assumes least.
    """

    limit: float
    model: Estimate
    extreme: Estimate | None
    counted: Estimate
    fit: Fit | None
    extreme_refused: str
    disagreements: tuple[str, ...]


def thin_spots(
    squares: NestedSquares,
    minima: ArrayLike,
    limit: float,
    *,
    bores: int,
    seed: int,
    step: float = 0.0,
    confidence: float = 0.95,
    draws: int = 1000,
) -> ThinSpots:
    """Answer which share of blocks has a place below a limit, three ways side by side.

    Parameters
    ----------
    squares : NestedSquares
        From readings on the grid, searched ones left out.
    minima : array_like
        Each block's thinnest reading on that grid. Blocks read at fewer places have minima that are
        too high, and do not belong here.
    limit : float
    bores : int
        Bores of a block.
    seed : int
        Of the model's draws.
    step : float
        The gauge's step, of the minima.
    confidence : float
    draws : int
        Behind the interval of the model.

    Raises
    ------
    Refusal
        `limit_far_off`, `bad_count`, `bad_confidence`; `not_finite` or `too_few` for no minima.
    """
    model = share_below(
        squares, limit, "block", bores=bores, seed=seed, confidence=confidence, draws=draws
    ).at(0)
    return three_ways(model, minima, limit, step=step)


def three_ways(model: Estimate, minima: ArrayLike, limit: float, *, step: float = 0.0) -> ThinSpots:
    """Set the share of a model beside an extreme-value fit and a count of the thinnest places.

    Parameters
    ----------
    model : Estimate
        The share of blocks below `limit`, as `share_below.share_below` gives it; its confidence is
        that of the other two.
    minima, limit, step
        As in `thin_spots`.

    Raises
    ------
    Refusal
        `not_finite` or `too_few` for no minima.
    """
    confidence = model.confidence
    thinnest = clean_values(minima, least=1, name="the thinnest places")
    counted = counted_below(thinnest, limit, confidence)
    fit, extreme, refused = None, None, ""
    try:
        fit = minima_fit(thinnest, step)
        extreme = share_below_interval(fit, limit, confidence)
    except Refusal as refusal:
        refused = str(refusal)
    ways = {"the nested model": model, "the extreme-value fit": extreme, "counting": counted}
    return ThinSpots(
        limit=limit,
        model=model,
        extreme=extreme,
        counted=counted,
        fit=fit,
        extreme_refused=refused,
        disagreements=_apart({name: way for name, way in ways.items() if way is not None}),
    )


def minima_fit(minima: ArrayLike, step: float = 0.0) -> Fit:
    """Fit an extreme value to blocks' thinnest places: with a shape from 20 blocks up.

    References
    ----------
    Coles, S. (2001). An Introduction to Statistical Modeling of Extreme Values, section 3.3 (from
    memory).
    """
    values = clean_values(minima, least=1, name="the thinnest places")
    if values.size < FEWEST:
        raise Refusal(
            "too_few",
            f"The thinnest places of {values.size} blocks tell no shape; at least {FEWEST} blocks "
            "are needed.",
        )
    family = "gev-minima" if values.size >= FEWEST_FOR_SHAPE else "gumbel-minima"
    return fit_distribution(Readings.of(values, step=step), family)


def _apart(ways: dict[str, Estimate]) -> tuple[str, ...]:
    return tuple(
        f"By {one}, {ways[one].low:.1%} to {ways[one].high:.1%} of blocks lie below; by {other}, "
        f"{ways[other].low:.1%} to {ways[other].high:.1%}: they do not agree."
        for one, other in combinations(ways, 2)
        if ways[one].high < ways[other].low or ways[other].high < ways[one].low
    )
