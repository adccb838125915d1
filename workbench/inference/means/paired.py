"""Two readings of the same thing: paired differences, matched by place."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from workbench.errors import Refusal
from workbench.inference.results import Difference
from workbench.inference.samples import Values, clean_values, require_spread


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Matched:
    """Values of the places both sides have, in the candidate's order, and how many are left out."""

    places: tuple[Hashable, ...]
    candidate: Values
    reference: Values
    candidate_left_out: int
    reference_left_out: int


def match_places(
    candidate: Mapping[Hashable, float], reference: Mapping[Hashable, float]
) -> Matched:
    """Pair two sides place by place, and count what has no partner.

    Parameters
    ----------
    candidate, reference : mapping of place to float
        A place is anything that names one: (station, depth), a block id, a pair of both.

    Raises
    ------
    Refusal
        `no_common_place` when no place is on both sides; `not_finite`.

    Examples
    --------
    >>> found = match_places({"front": 4.1, "rear": 4.4}, {"rear": 4.0, "thrust": 3.9})
    >>> found.places, found.candidate_left_out, found.reference_left_out
    (('rear',), 1, 1)
    """
    places = tuple(place for place in candidate if place in reference)
    if not places:
        raise Refusal("no_common_place", "No place was read on both sides, so nothing pairs.")
    return Matched(
        places=places,
        candidate=clean_values([candidate[place] for place in places], name="the candidate"),
        reference=clean_values([reference[place] for place in places], name="the reference"),
        candidate_left_out=len(candidate) - len(places),
        reference_left_out=len(reference) - len(places),
    )


def paired(candidate: ArrayLike, reference: ArrayLike) -> Difference:
    """Answer how far two sides lie apart when every value has its partner.

    Right where each pair is one independent unit measured twice: the same blocks by two gauges, or
    before and after. It does not make two families of different blocks comparable: places of one
    block are alike, and pairing them by place would count one block many times.

    Parameters
    ----------
    candidate, reference : array_like
        Partners at the same position; two pairs or more.

    Returns
    -------
    Difference
        Mean of candidate minus reference, pairs less one degrees of freedom.

    Raises
    ------
    Refusal
        `unequal_lengths`; `zero_spread` when all differences are equal; `too_few`, `not_finite`.

    References
    ----------
    Student (1908). The probable error of a mean. Biometrika 6, 1-25.

    Examples
    --------
    >>> first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
    >>> second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]
    >>> apart = paired(first, second)
    >>> f"t = {apart.statistic():.4f}, p = {apart.p_value():.6f}"
    't = -4.0621, p = 0.002833'
    """
    differences = pair_differences(candidate, reference, least=2)
    require_spread(differences, name="the differences")
    return Difference(
        estimate=float(differences.mean()),
        standard_error=float(differences.std(ddof=1)) / math.sqrt(differences.size),
        degrees_of_freedom=differences.size - 1,
        method="paired",
    )


def pair_differences(candidate: ArrayLike, reference: ArrayLike, *, least: int = 1) -> Values:
    """Give candidate minus reference, partner by partner."""
    own = clean_values(candidate, least=least, name="the candidate")
    other = clean_values(reference, least=least, name="the reference")
    if own.size != other.size:
        raise Refusal(
            "unequal_lengths",
            f"Pairs need partners: the candidate has {own.size} values, the reference "
            f"{other.size}.",
        )
    differences: Values = np.subtract(own, other)
    return differences
