"""The shift of a whole block, and whether its bores moved together or each on its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc

from workbench.castings.bores.core_shift import CoreShifts
from workbench.errors import Refusal
from workbench.inference.directions.hotelling import mean_vector
from workbench.inference.directions.vector import VectorEstimate
from workbench.inference.results import check_confidence

Values = NDArray[np.float64]
Pattern = Literal["together", "together and apart", "apart", "not shown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoresDiffer:
    """F against 'all bores of the block have one shift', by the scatter of places."""

    statistic: float
    upper_degrees_of_freedom: int
    lower_degrees_of_freedom: float
    p_value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockShift:
    """The mean shift of a block's bores, in `unit`, and whether they share it.

    Attributes
    ----------
    bores
        The shift of each bore that has one.
    as_measured
        The mean of these very bores; its error is that of measuring alone.
    of_core
        The same mean as that of a jacket core whose bores scatter about it: the bores are the
        units. None below three bores, or where `not_answered` says why.
    differ
        Whether the bores differ by more than measuring explains; None for a single bore.
    not_answered
        What could not be answered, and why, by the name of the bore or the figure.
    """

    block: str
    family: str
    unit: str
    bores: dict[str, VectorEstimate]
    as_measured: VectorEstimate
    of_core: VectorEstimate | None
    differ: BoresDiffer | None
    not_answered: dict[str, str]

    def pattern(self, confidence: float = 0.95) -> Pattern:
        """Say what the block shows at this confidence.

        `together`: a common shift, bores alike; `apart`: bores differ, no common shift shown;
        `together and apart`: both; `not shown`: neither. Where bores differ, a common shift must
        show against their differing, not against the error of measuring alone.
        """
        check_confidence(confidence)
        alpha = 1 - confidence
        if self.differ is None or self.differ.p_value >= alpha:
            return "together" if self.as_measured.p_value() < alpha else "not shown"
        moved = self.of_core is not None and self.of_core.p_value() < alpha
        return "together and apart" if moved else "apart"


def shift_of_block(shifts: CoreShifts, block: str) -> BlockShift:
    """Answer how far, and which way, the bores of one block lie off centre on the whole.

    Parameters
    ----------
    shifts : CoreShifts
        Of the study; the scatter of places is that of the whole family.
    block : str
        The block.

    Raises
    ------
    Refusal
        `no_such_block`; `no_shift` where no bore of it has a shift, with the reason of each.
    """
    mine = shifts.of_block(block)
    if mine.bores.empty:
        raise Refusal(
            "no_such_block", f"There is no wall reading with an angle of block “{block}”."
        )
    found, not_answered = {}, {}
    for bore in mine.bores["bore"]:
        try:
            found[str(bore)] = mine.bore(block, bore)
        except Refusal as refusal:
            not_answered[str(bore)] = str(refusal)
    if not found:
        raise Refusal(
            "no_shift", f"No bore of {block} has a shift. " + " ".join(not_answered.values())
        )
    of_core = None
    try:
        of_core = mean_vector([[vector.x, vector.y] for vector in found.values()])
    except Refusal as refusal:
        not_answered["of_core"] = str(refusal)
    return BlockShift(
        block=block,
        family=str(mine.bores["family"].iloc[0]),
        unit=shifts.unit,
        bores=found,
        as_measured=_as_measured(list(found.values())),
        of_core=of_core,
        differ=_differ(list(found.values())),
        not_answered=not_answered,
    )


def _as_measured(bores: list[VectorEstimate]) -> VectorEstimate:
    count = len(bores)
    covariance = sum((bore.covariance for bore in bores), np.zeros((2, 2))) / count**2
    return VectorEstimate(
        x=sum(bore.x for bore in bores) / count,
        y=sum(bore.y for bore in bores) / count,
        vxx=float(covariance[0, 0]),
        vxy=float(covariance[0, 1]),
        vyy=float(covariance[1, 1]),
        degrees_of_freedom=bores[0].degrees_of_freedom,
        whole_matrix=False,
        method="mean of the bores, error of measuring",
    )


def _differ(bores: list[VectorEstimate]) -> BoresDiffer | None:
    """Compare each bore with the mean of all, each weighed by its own covariance."""
    if len(bores) < 2:
        return None
    weights = [np.linalg.inv(bore.covariance) for bore in bores]
    vectors = [np.array([bore.x, bore.y]) for bore in bores]
    total = sum(weights, np.zeros((2, 2)))
    pulled = sum((w @ v for w, v in zip(weights, vectors, strict=True)), np.zeros(2))
    middle = np.linalg.solve(total, pulled)
    distance = sum(
        float((v - middle) @ w @ (v - middle)) for w, v in zip(weights, vectors, strict=True)
    )
    above, below = 2 * (len(bores) - 1), bores[0].degrees_of_freedom
    return BoresDiffer(
        statistic=distance / above,
        upper_degrees_of_freedom=above,
        lower_degrees_of_freedom=below,
        p_value=float(fdtrc(above, below, distance / above)),
    )
