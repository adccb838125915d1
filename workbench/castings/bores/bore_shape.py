"""One bore in depth: its shift at each depth, how it leans, and whether it is out of round."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from workbench.castings.answers import Answers
from workbench.castings.bores.core_shift import CoreShifts
from workbench.castings.bores.out_of_round import OutOfRound, out_of_round
from workbench.castings.places import Places
from workbench.inference.directions.vector import VectorEstimate


@dataclass(frozen=True, slots=True, kw_only=True)
class BoreShape:
    """A bore in depth; lengths in the unit of the walls, None where `not_answered` says why.

    `lean` is the change of the shift for a unit of depth.
    """

    bore: str
    depths: dict[str, VectorEstimate]
    lean: VectorEstimate | None
    out_of_round: OutOfRound | None
    not_answered: dict[str, str]


def bore_shapes(walls: Places, shifts: CoreShifts, block: str) -> tuple[BoreShape, ...]:
    """Answer how each bore of a block lies in depth, and whether it is round."""
    mine = shifts.of_block(block)
    own = walls.of_block(block)
    return tuple(_shape(own, mine, block, str(bore)) for bore in mine.bores["bore"])


def _shape(walls: Places, shifts: CoreShifts, block: str, bore: str) -> BoreShape:
    answers = Answers()
    names = shifts.depths.loc[shifts.depths["bore"] == bore, "depth"].astype(str)
    found = {
        name: answers.of(f"depth {name}", partial(shifts.depth, block, bore, name))
        for name in names
    }
    return BoreShape(
        bore=bore,
        depths={name: vector for name, vector in found.items() if vector is not None},
        lean=answers.of("lean", lambda: shifts.tilt(block, bore)),
        out_of_round=answers.of("out_of_round", lambda: out_of_round(walls, block, bore)),
        not_answered=answers.refused,
    )
