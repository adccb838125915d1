"""Limits that a share of a family keeps, and where the next block, bore or place will fall.

A tolerance limit is kept by a share of all blocks to come; a prediction holds for the next one. By
a shape of the blocks, by none, and from the nested model, for the iron and not for a reading of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import pandas as pd

from workbench.castings.family_places import FamilyPlaces
from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.tolerance.fitted import lognormal_tolerance, weibull_tolerance
from workbench.inference.tolerance.limits import ToleranceInterval
from workbench.inference.tolerance.nested import nested_predictions, nested_tolerance
from workbench.inference.tolerance.normal import normal_tolerance
from workbench.inference.tolerance.order_statistics import ranked_tolerance

COVERAGE = 0.95
DRAWS = 1_000
PREDICTIONS = 20_000
WHAT = {"block": "mean of a block", "bore": "mean of a bore", "place": "single place"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """Limits of one thing by one method; a string in place of one says why it is not given.

    `above` is the lower one-sided tolerance limit, `within` the two-sided one, `following` the
    prediction for the next; None where the method makes none.
    """

    what: str
    how: str
    above: ToleranceInterval | str
    within: ToleranceInterval | str
    following: Estimate | str | None


def family_limits(
    places: FamilyPlaces, blocks: pd.Series[float], confidence: float, seed: int
) -> tuple[Limit, ...]:
    """Give tolerance limits of block means by each shape, and of the nested model by level.

    Parameters
    ----------
    places
        Of one family.
    blocks
        One number a block, from `family_places.block_values`.
    confidence
        That the limits are kept by `COVERAGE` of all blocks, bores or places.
    seed
        Of what is drawn.
    """
    weibull = partial(weibull_tolerance, blocks, seed=seed, draws=DRAWS)
    shapes: dict[str, Callable[..., ToleranceInterval]] = {
        "normal": partial(normal_tolerance, blocks),
        "lognormal": partial(lognormal_tolerance, blocks),
        "Weibull": weibull,
        "no shape, by ranks": partial(ranked_tolerance, blocks),
    }
    asked = partial(_answered, coverage=COVERAGE, confidence=confidence)
    rows = [
        Limit(
            what=WHAT["block"],
            how=how,
            above=asked(ask, side="lower"),
            within=asked(ask, side="both"),
            following=None,
        )
        for how, ask in shapes.items()
    ]
    return (*rows, *_nested(places, confidence, seed))


def _nested(places: FamilyPlaces, confidence: float, seed: int) -> list[Limit]:
    squares = places.squares
    there = {"block": True, "bore": squares.bore is not None, "place": squares.place is not None}
    errors = {
        what: places.error_variance if what == "place" else 0.0
        for what, known in there.items()
        if known
    }
    following = nested_predictions(
        squares, errors, confidence=confidence, seed=seed, draws=PREDICTIONS
    )
    rows = []
    for what, error in errors.items():
        tolerance = partial(
            nested_tolerance, squares, what, seed=seed, error_variance=error, draws=DRAWS
        )
        asked = partial(_answered, tolerance, coverage=COVERAGE, confidence=confidence)
        rows.append(
            Limit(
                what=WHAT[what],
                how="nested model",
                above=asked(side="lower"),
                within=asked(side="both"),
                following=following[what],
            )
        )
    return rows


def _answered(
    ask: Callable[..., ToleranceInterval], *, coverage: float, confidence: float, side: str
) -> ToleranceInterval | str:
    try:
        return ask(coverage=coverage, confidence=confidence, side=side)
    except Refusal as refusal:
        return "too few blocks" if refusal.code == "too_few" else str(refusal)
