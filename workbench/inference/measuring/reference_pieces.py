"""Reference pieces of a calibration: which reading is on which, and how well each is known."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from workbench.errors import Refusal
from workbench.inference.admissible import paired
from workbench.inference.samples import Values, clean_values


def named_pieces(pieces: Sequence[str] | None, references: Values) -> tuple[list[str], np.ndarray]:
    """Give the names of the pieces, and the place among them of each reading's piece.

    Without names, readings with one reference value are on one piece.

    Raises
    ------
    Refusal
        `unequal_lengths`, or `bad_pieces` when one piece is given two values.
    """
    if pieces is None:
        values, place = np.unique(references, return_inverse=True)
        return [f"piece {value:.9g}" for value in values], np.asarray(place)
    paired("References", references, "names of pieces", pieces)
    names = sorted(set(pieces))
    place = np.array([names.index(name) for name in pieces])
    for number, name in enumerate(names):
        stated = np.unique(references[place == number])
        if stated.size > 1:
            raise Refusal(
                "bad_pieces",
                f"The piece “{name}” is given two references, {stated[0]:g} and {stated[1]:g}.",
            )
    return names, place


def uncertainty_of_each(stated: ArrayLike, names: list[str], place: np.ndarray) -> Values:
    """Give the standard uncertainty of each piece, stated once for all or once a reading.

    Raises
    ------
    Refusal
        `bad_uncertainty` when one is below 0, their number fits nothing, or a piece is given two.
    """
    u = clean_values(np.atleast_1d(stated), name="the row of reference uncertainties")
    if u.size == 1:
        u = np.full(place.size, u[0])
    if u.size != place.size or bool(np.any(u < 0)):
        raise Refusal(
            "bad_uncertainty",
            f"Reference uncertainties are 0 or more, one for all or one for each of {place.size} "
            f"readings; there are {u.size}, the least is {u.min():g}.",
        )
    each = np.zeros(len(names))
    np.maximum.at(each, place, u)
    differing = np.flatnonzero(u != each[place])
    if differing.size:
        name = names[place[differing[0]]]
        raise Refusal("bad_uncertainty", f"“{name}” is given with two different uncertainties.")
    return each
