"""Means of groups read at unlike places: each freed of which places it happened to have."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.errors import Refusal
from workbench.inference.samples import clean_values

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

ROUNDS = 500
SETTLED = 1e-10  # of the spread of the values


def group_effects(values: ArrayLike, group: Codes, place: Codes) -> Values:
    """Answer how far each group lies above or below the others, place for place.

    Least squares of value = place + group, found by turns: places from what groups leave, groups
    from what places leave. Where every group has every place these are the plain means of the
    groups, less the mean of all.

    Parameters
    ----------
    values : array_like
        A value a row.
    group, place : array of int, from 0 up
        The group and the place of each row; every number up to the largest occurs.

    Returns
    -------
    array
        An effect a group; they add up to 0 over the groups. Only groups that share places, each
        with another and so all in one chain, can be compared.

    Raises
    ------
    Refusal
        `not_finite`, `too_few`; `unequal_lengths`; `unlinked` where some groups share no place with
        the others, also not through further groups.

    Examples
    --------
    >>> effects = group_effects([4.0, 5.0, 4.2], np.array([0, 0, 1]), np.array([0, 1, 0]))
    >>> f"{effects[1] - effects[0]:.2f}"
    '0.20'
    """
    y = clean_values(values, name="the values")
    if not y.size == group.size == place.size:
        raise Refusal(
            "unequal_lengths",
            f"Values, groups and places go together, but there are {y.size}, {group.size} and "
            f"{place.size} of them.",
        )
    if not _linked(group, place):
        raise Refusal("unlinked", "Some groups share no place with the others.")
    of_group, of_place = np.bincount(group), np.bincount(place)
    effect = np.zeros(of_group.size)
    grain = SETTLED * float(np.ptp(y))
    for _ in range(ROUNDS):
        level = np.bincount(place, weights=y - effect[group]) / of_place
        moved = np.bincount(group, weights=y - level[place]) / of_group
        change, effect = float(np.abs(moved - effect).max()), moved
        if change <= grain:
            break
    centred: Values = effect - effect.mean()
    return centred


def _linked(group: Codes, place: Codes) -> bool:
    """Tell whether all groups hang together through the places they share."""
    reached = np.zeros(int(group.max()) + 1, dtype=bool)
    reached[group[0]] = True
    while True:
        places = np.zeros(int(place.max()) + 1, dtype=bool)
        places[place[reached[group]]] = True
        further = reached.copy()
        further[group[places[place]]] = True
        if (further == reached).all():
            return bool(reached.all())
        reached = further
