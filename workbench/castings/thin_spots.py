"""What the thinnest place of a family's next block will be, and where it lies.

Told three ways that share nothing but the readings: predicted from the nested model, fitted to the
thinnest places of blocks, and counted. Where a share is given for the iron, what repeated readings
differ by is taken off, and the error all readings share is added to the band.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.answers import Answers
from workbench.castings.family_places import FamilyPlaces, common_grid
from workbench.castings.kept import check_limit_kept
from workbench.errors import Refusal
from workbench.inference.distributions.readings import EVERYWHERE, Window
from workbench.inference.extremes.block_minimum import (
    BlockMinimum,
    GridCurve,
    minimum_by_grid,
    predicted_minimum,
)
from workbench.inference.extremes.same_place import SamePlace, same_place, thinnest_places
from workbench.inference.extremes.share_below import (
    UNITS,
    ShareCurve,
    check_near,
    share_below,
    share_curves,
)
from workbench.inference.extremes.thin_spots import ThinSpots, three_ways

Values = NDArray[np.float64]

DRAWN_BLOCKS = 20_000
GRID_BLOCKS = 5_000
DRAWS = 300  # behind each band
CURVE_LIMITS = 61
REACH = 1.5  # of the predicted interval, the curve runs to either side of its middle
FURTHEST = 6.0  # standard deviations of a place, the curve runs to at most
TIMES = 4  # the places read that the grid curve runs to
SEPARATOR = "\x1f"
LABELS = ("station", "depth", "bore", "place")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThinFamily:
    """What is known of a family's thinnest places.

    Attributes
    ----------
    minima
        Each block's thinnest grid place, of blocks read at nine in ten places or more.
    limits
        Those asked for that lie near enough to the readings.
    spots
        By limit, the share of blocks with a place below: three ways, as the gauge shows it.
    shares
        By "place", "bore" and "block", the share with something below each limit, of the iron.
    curve
        The share of blocks over many limits, of the iron.
    predicted
        The thinnest place of the next block, of the iron.
    by_grid
        How it falls with the number of places looked at; None where a block has one place.
    same
        By what differs of "station", "depth", "bore" and "place": are blocks thinnest at the same.
    same_blocks, same_places
        How many blocks, and places of a block, that rests on: every one read at every other.
    searched
        By limit, the blocks that only a place hunted for puts below.
    refused
        What could not be answered, and why.
    """

    places: FamilyPlaces
    minima: Values
    limits: tuple[float, ...]
    spots: Mapping[float, ThinSpots]
    shares: Mapping[str, ShareCurve]
    curve: ShareCurve
    predicted: BlockMinimum
    by_grid: GridCurve | None
    same: Mapping[str, SamePlace]
    same_blocks: int
    same_places: int
    searched: Mapping[float, int]
    refused: Mapping[str, str]


def thin_family(
    places: FamilyPlaces,
    limits: Sequence[float],
    *,
    confidence: float,
    seed: int,
    kept: Window = EVERYWHERE,
) -> ThinFamily:
    """Answer what the worst place of the next block will be, and which share falls below limits.

    Parameters
    ----------
    places
        Of one family, from `family_places.family_places`.
    limits
        In the unit of the places.
    confidence
        Of every interval.
    seed
        Of what is drawn.
    kept
        The range outside of which no reading was kept; limits outside it are refused.

    Returns
    -------
    ThinFamily
        A question that cannot be answered stands in `refused` with its reason.
    """
    answers = Answers()
    near = _near(answers, places, limits, kept)
    predicted = predicted_minimum(
        places.squares,
        bores=places.bores,
        seed=seed,
        blocks=DRAWN_BLOCKS,
        error_variance=places.error_variance,
    )
    over = _over(places, predicted, confidence, kept)
    shares = share_curves(
        places.squares,
        {
            unit: [*near, *over] if unit == "block" else list(near)
            for unit in UNITS
            if near or unit == "block"
        },
        bores=places.bores,
        seed=seed,
        confidence=confidence,
        error_variance=places.error_variance,
        shared=places.shared,
        draws=DRAWS,
    )
    grid = common_grid(places.table)
    return ThinFamily(
        places=places,
        minima=np.sort(places.minima.to_numpy(dtype=float)),
        limits=near,
        spots=_three_ways(places, near, confidence, seed),
        shares={unit: _part(curve, slice(len(near))) for unit, curve in shares.items()},
        curve=_part(shares["block"], slice(len(near), None)),
        predicted=predicted,
        by_grid=answers.of("more places", partial(_by_grid, places, confidence, seed)),
        same=_same(answers, grid, seed),
        same_blocks=int(grid["block"].nunique()),
        same_places=len(grid[["bore", "place"]].drop_duplicates()),
        searched=_only_searched(places, near),
        refused=answers.refused,
    )


def _over(places: FamilyPlaces, predicted: BlockMinimum, confidence: float, kept: Window) -> Values:
    """Give the limits of the curve, none so far from the readings that these do not answer."""
    middle = predicted.interval(confidence)
    spread = float(np.sqrt(sum(places.squares.variances.values())))
    reach = min(REACH * middle.half_width, FURTHEST * spread)
    start = max(middle.estimate - reach, kept[0])
    end = min(max(middle.estimate + reach, start + spread), kept[1])
    return np.linspace(start, end, CURVE_LIMITS)


def _near(
    answers: Answers, places: FamilyPlaces, limits: Sequence[float], kept: Window
) -> tuple[float, ...]:
    """Keep the limits near enough to the readings to be answered by them."""
    found = []
    for at in limits:
        name = f"limit {at:g} {places.unit}"
        answers.of(name, partial(_check_limit, places, at, kept))
        if name not in answers.refused:
            found.append(at)
    return tuple(found)


def _check_limit(places: FamilyPlaces, limit: float, kept: Window) -> None:
    check_limit_kept(limit, kept, places.unit, "this family")
    check_near(places.squares, np.array([limit]))


def _three_ways(
    places: FamilyPlaces, limits: Sequence[float], confidence: float, seed: int
) -> dict[float, ThinSpots]:
    """Answer as the gauge shows it: the error of a reading is in all three ways."""
    if not limits:
        return {}
    model = share_below(
        places.squares,
        list(limits),
        bores=places.bores,
        seed=seed,
        confidence=confidence,
        draws=DRAWS,
    )
    return {
        at: three_ways(model.at(place), places.minima, at, step=places.step)
        for place, at in enumerate(limits)
    }


def _part(curve: ShareCurve, some: slice) -> ShareCurve:
    return replace(
        curve,
        limits=curve.limits[some],
        share=curve.share[some],
        low=curve.low[some],
        high=curve.high[some],
    )


def _by_grid(places: FamilyPlaces, confidence: float, seed: int) -> GridCurve:
    if places.squares.place is None:
        raise Refusal(
            "one_place",
            "A bore was read at one place only, so nothing tells how places of a bore differ; two "
            "places a bore would be enough.",
        )
    return minimum_by_grid(
        places.squares,
        bores=places.bores,
        seed=seed,
        times=TIMES,
        blocks=GRID_BLOCKS,
        confidence=confidence,
        error_variance=places.error_variance,
    )


def _same(answers: Answers, grid: pd.DataFrame, seed: int) -> dict[str, SamePlace]:
    """Ask of each label that differs over the grid whether blocks are thinnest at the same."""
    table = grid.assign(at=grid["bore"] + SEPARATOR + grid["place"])
    first = table.drop_duplicates("at").set_index("at")
    names = [label for label in LABELS if len(first[label].unique()) > 1]
    if not names:
        answers.refused["where"] = (
            "No two places of a block were read in all blocks, so none can be the thinnest of "
            "several; the same two places in every block would be enough."
        )
        return {}
    thinnest = thinnest_places(table, place="at")
    found = {}
    for name in names:
        asked = partial(
            same_place,
            thinnest,
            first.index.tolist(),
            seed=seed,
            labels={str(at): str(label) for at, label in first[name].items()},
        )
        answer = answers.of("where", asked)
        if answer is not None:
            found[name] = answer
    return found


def _only_searched(places: FamilyPlaces, limits: Sequence[float]) -> dict[float, int]:
    """Count for each limit the blocks with a searched place below, and no place of the grid."""
    read = places.read
    found = {}
    for limit in limits:
        low, hunted = (
            set(table["block"].to_numpy(object)[table["value"].to_numpy(float) < limit])
            for table in (read, places.searched)
        )
        found[limit] = len(hunted - low)
    return found
