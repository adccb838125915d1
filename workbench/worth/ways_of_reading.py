"""Every way of reading new blocks, and which numbers of blocks read so could come into question.

What a plan costs, and the variance of the difference it leaves, is what the new blocks of the one
family add to what those of the other do. So both are worked out for each family alone, for all ways
at once, and of the thousands of pairs only those are laid out that are neither too dear nor too
imprecise.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from workbench.inference.samples import Values
from workbench.worth.claim_study import ClaimStudy
from workbench.worth.measuring_costs import MeasuringCosts, plan_costs
from workbench.worth.measuring_plan import Plans, enlarged, shared_after

MOST_BLOCKS = 100
MOST_BORES = 16
MOST_PLACES = 16
REPEATS_TRIED = (1, 2, 3)
AGAIN_TRIED = (0, 1, 2, 4, 9)
READING = ("bores", "places", "repeats", "again", "calibrated")
ROUNDING = 1e-9

Reading = tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """How far a plan may go: blocks left of each family (None: no limit), bores and places."""

    candidate: int | None = None
    reference: int | None = None
    bores: int = 1
    places: int = 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Way:
    """One way of reading, with the numbers of blocks of either family it may be tried with.

    `money` and `variance` are by the number of candidate blocks, no other being had, and what each
    number of reference blocks adds to that. `at_hand` tells that no new block is had.
    """

    reading: Reading
    candidate: Values
    reference: Values
    money: tuple[Values, Values]
    variance: tuple[Values, Values]
    at_hand: bool

    def plans(self, money: float, variance: float = math.inf) -> Plans:
        """Give the plans that cost no more than `money` and leave no more than `variance`."""
        known = _together(self.money) <= money + ROUNDING * (1 + abs(money))
        if variance < math.inf:
            known &= _together(self.variance) <= variance * (1 + ROUNDING)
        known[0, 0] &= self.at_hand
        own, other = np.nonzero(known)
        way = zip(READING, self.reading, strict=True)
        return Plans(
            candidate=self.candidate[own],
            reference=self.reference[other],
            **{name: np.full(own.size, float(value)) for name, value in way},
        )


def ways_of_reading(
    study: ClaimStudy, costs: MeasuringCosts, room: Room, variance: float = math.inf
) -> Iterator[Way]:
    """Give the ways of reading, cheap ones first, by which no more than `variance` can be left.

    Without new blocks only what is done again at the blocks at hand differs.
    """
    repeats = REPEATS_TRIED if study.repeat > 0 else (1,)
    again = AGAIN_TRIED if study.repeat > 0 or study.scope == "block" else (0,)
    calibrated = (0, 1) if study.shared > 0 and study.shared_calibrated is not None else (0,)
    at_hand = list(itertools.product((1,), (1,), (1,), again, calibrated))
    yield from _ways(study, costs, at_hand, (np.zeros(1), np.zeros(1)), variance)
    if study.scope != "family":
        return
    bores = (room.bores,) if study.whole_blocks else range(1, min(room.bores, MOST_BORES) + 1)
    places = {room.places} if study.whole_blocks else set(_places(room))
    readings = list(itertools.product(bores, sorted(places), repeats, again, calibrated))
    own, other = (
        np.arange((MOST_BLOCKS if left is None else min(left, MOST_BLOCKS)) + 1.0)
        for left in (room.candidate, room.reference)
    )
    if own.size == other.size == 1:
        return
    ones = plan_costs(study, costs, _laid(np.ones(1), np.ones(1), readings))[0]
    cheap_first = [readings[at] for at in np.argsort(ones, kind="stable")]
    yield from _ways(study, costs, cheap_first, (own, other), variance)


def _ways(
    study: ClaimStudy,
    costs: MeasuringCosts,
    readings: Sequence[Reading],
    blocks: tuple[Values, Values],
    most: float,
) -> Iterator[Way]:
    money = _by_family(lambda plans: plan_costs(study, costs, plans)[0], readings, blocks)
    variance = _by_family(
        lambda plans: enlarged(study, plans).variance + shared_after(study, plans) ** 2,
        readings,
        blocks,
    )
    least = variance[0].min(axis=1) + variance[1].min(axis=1)
    for at in np.flatnonzero(least <= most * (1 + ROUNDING)).tolist():
        yield Way(
            reading=readings[at],
            candidate=blocks[0],
            reference=blocks[1],
            money=(money[0][at], money[1][at]),
            variance=(variance[0][at], variance[1][at]),
            at_hand=blocks[0].size == blocks[1].size == 1,
        )


def _by_family(
    figure: Callable[[Plans], Values], readings: Sequence[Reading], blocks: tuple[Values, Values]
) -> tuple[Values, Values]:
    """Give a figure for each way (rows) by the blocks of the one family, and what others add."""
    own, other = blocks
    whole = figure(_laid(own, np.zeros(own.size), readings)).reshape(-1, own.size)
    added = figure(_laid(np.zeros(other.size), other, readings)).reshape(-1, other.size)
    return whole, added - added[:, :1]


def _together(parts: tuple[Values, Values]) -> Values:
    """Give what adds up over the families, a row a number of candidate blocks."""
    return np.asarray(parts[0][:, None] + parts[1], dtype=float)


def _places(room: Room) -> Iterator[int]:
    yield from range(1, min(room.places, MOST_PLACES) + 1)
    yield room.places


def _laid(own: Values, other: Values, readings: Sequence[Reading]) -> Plans:
    """Lay out the ways of reading, each over so many blocks of each family."""
    columns = np.repeat(np.array(readings, dtype=float), own.size, axis=0)
    return Plans(
        candidate=np.tile(own, len(readings)),
        reference=np.tile(other, len(readings)),
        **{name: columns[:, at] for at, name in enumerate(READING)},
    )
