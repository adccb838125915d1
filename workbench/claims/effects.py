"""How large a difference of two families is, told in other ways than in its unit.

All take one number a block, on a common footing of places and gauges. Errors of measuring that are
shared by all readings are not counted in; the verdict's own interval does that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from workbench.claims.analysis import Analysis
from workbench.claims.verdict import Effect
from workbench.errors import Refusal

PERCENT = "difference in per cent"
STANDARDISED = "in standard deviations between blocks (Hedges' g)"
CHANCE = "chance that one block of the first exceeds one of the second"
BEYOND = {
    False: "share of blocks above the second's highest",
    True: "share of blocks below the second's lowest",
}
CASE_ABOVE = "share of the other family below the one block"
LEAST = 2


def effects(analysis: Analysis, confidence: float, *, less: bool = False) -> tuple[Effect, ...]:
    """Give the sizes of the difference of a claim on families; none for the blocks measured.

    `less` tells that the claim is of lower values, so that a block beyond all others is below them.
    """
    if analysis.scope != "family":
        return ()
    pair = (analysis.evidence.candidate, analysis.evidence.reference)
    ours, others = (analysis.means_of(family) for family in pair)
    return tuple(_made(*asked, confidence) for asked in _asked(ours, others, less=less))


def _asked(
    ours: np.ndarray, others: np.ndarray, *, less: bool
) -> Iterator[tuple[str, str, Callable[[float], tuple[float, float, float]]]]:
    """Name each size with its unit and how it is found."""
    yield PERCENT, "%", lambda confidence: _percent(ours, others, confidence)
    if min(ours.size, others.size) < LEAST:
        one, family = (ours, others) if ours.size < LEAST else (others, ours)
        yield CASE_ABOVE, "share", lambda confidence: _case(float(one[0]), family, confidence)
        return
    yield STANDARDISED, "", lambda confidence: _standardised(ours, others, confidence)
    yield CHANCE, "share", lambda confidence: _chance(ours, others, confidence)
    yield BEYOND[less], "share", lambda confidence: _beyond(ours, others, confidence, less=less)


def _made(
    name: str,
    unit: str,
    found: Callable[[float], tuple[float, float, float]],
    confidence: float,
) -> Effect:
    try:
        estimate, low, high = found(confidence)
    except Refusal as refusal:
        return Effect(name=name, unit=unit, note=str(refusal))
    return Effect(name=name, unit=unit, estimate=estimate, low=low, high=high)


def _percent(ours: np.ndarray, others: np.ndarray, confidence: float) -> tuple[float, float, float]:
    from workbench.inference.means.effects import percent_difference

    found = percent_difference(ours, others)
    ends = found.interval(confidence)
    return found.estimate, ends.low, ends.high


def _standardised(
    ours: np.ndarray, others: np.ndarray, confidence: float
) -> tuple[float, float, float]:
    from workbench.inference.means.effects import hedges

    found = hedges(ours, others)
    ends = found.interval(confidence)
    return found.estimate, ends.low, ends.high


def _chance(ours: np.ndarray, others: np.ndarray, confidence: float) -> tuple[float, float, float]:
    from workbench.inference.ranks.exceedance import chance_of_exceeding

    found = chance_of_exceeding(ours, others)
    ends = found.interval(confidence)
    return found.estimate, ends.low, ends.high


def _beyond(
    ours: np.ndarray, others: np.ndarray, confidence: float, *, less: bool
) -> tuple[float, float, float]:
    from workbench.inference.ranks.exceedance import beyond_best

    found = beyond_best(ours, others, larger_is_better=not less)
    ends = found.interval(confidence)
    return found.estimate, ends.low, ends.high


def _case(one: float, family: np.ndarray, confidence: float) -> tuple[float, float, float]:
    from workbench.inference.means.single_case import single_case

    found = single_case(one, family)
    ends = found.share_below_interval(confidence)
    return found.share_below, ends.low, ends.high
