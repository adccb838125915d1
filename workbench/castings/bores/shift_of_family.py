"""The core shift of a family: its mean, where it scatters, which way it points; families compared.

The block is the unit: each block has the mean shift of its bores.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import stdtrit

from workbench.castings.answers import Answers
from workbench.castings.bores.core_shift import CoreShifts
from workbench.errors import Refusal
from workbench.inference.directions.circular import (
    MeanDirection,
    VonMises,
    mean_direction,
    von_mises_fit,
)
from workbench.inference.directions.components import VectorComponents, vector_components
from workbench.inference.directions.hotelling import mean_vector, vector_difference
from workbench.inference.directions.vector import VectorEstimate
from workbench.inference.directions.vector_scatter import scatter_ratio, scatter_test
from workbench.inference.grouping import group_codes
from workbench.inference.means.single_case import single_case
from workbench.inference.means.welch import Summary, welch
from workbench.inference.results import Difference
from workbench.inference.spreads.equality import SpreadTest, VarianceRatio

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Directions:
    """Which way the blocks point: only those whose own direction is determined count.

    `von_mises` is None where the directions give no fit.
    """

    mean: MeanDirection
    von_mises: VonMises | None
    determined: int
    blocks: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FamilyShift:
    """The core shift of a family, in `unit`.

    Attributes
    ----------
    blocks
        A row a block, as `block_shifts` gives them.
    mean
        The mean shift of the family, blocks as units; None below three blocks.
    components
        Scatter between blocks, between bores of a block, and between the depths of a bore (with
        the error of measuring); None where levels do not repeat.
    directions
        None where fewer than three blocks have a direction of their own.
    not_answered
        What could not be answered, and why, by the name of the field.
    """

    family: str
    unit: str
    blocks: pd.DataFrame
    mean: VectorEstimate | None
    components: VectorComponents | None
    directions: Directions | None
    not_answered: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftComparison:
    """Two families held together: candidate less reference, in `unit`; None where not answered.

    Attributes
    ----------
    mean
        Difference of the mean shift vectors.
    size
        Difference of the mean length of a block's shift.
    scatter
        Whether blocks scatter alike about the shift of their family.
    scatter_ratio
        How many times the candidate's mean squared distance from its family's shift is the
        reference's; its `sd_interval` is that of the distances.
    """

    candidate: str
    reference: str
    unit: str
    mean: VectorEstimate | None
    size: Difference | None
    scatter: SpreadTest | None
    scatter_ratio: VarianceRatio | None
    not_answered: dict[str, str]


def shift_of_family(
    shifts: CoreShifts, family: str, *, direction_confidence: float = 0.95
) -> FamilyShift:
    """Answer how the cores of a family lie, and at which level they scatter.

    Parameters
    ----------
    shifts : CoreShifts
        Of the study.
    family : str
        The family.
    direction_confidence : float
        A block's direction counts where it is determined at this confidence by its own readings.

    Raises
    ------
    Refusal
        `no_shift` where no bore of the family has one.
    """
    mine = shifts.of_family(family)
    blocks = block_shifts(mine)
    if blocks.empty:
        raise Refusal("no_shift", f"No bore of family “{family}” has a core shift.")
    answers = Answers()
    vectors = blocks[["x", "y"]].to_numpy()
    depths = mine.depths[mine.depths["reason"] == ""]
    freedom = mine.scatter[family].of_bores
    return FamilyShift(
        family=family,
        unit=shifts.unit,
        blocks=blocks,
        mean=answers.of("mean", lambda: mean_vector(vectors)),
        components=answers.of(
            "components",
            lambda: vector_components(
                depths[["x", "y"]].to_numpy(),
                {"block": depths["block"].to_numpy(), "bore": depths["bore"].to_numpy()},
            ),
        ),
        directions=answers.of(
            "directions", lambda: _directions(blocks, freedom, direction_confidence)
        ),
        not_answered=answers.refused,
    )


def compare_shifts(shifts: CoreShifts, candidate: str, reference: str) -> ShiftComparison:
    """Answer how two families differ in mean shift, in its size, and in its scatter.

    A family of one or two blocks borrows the scatter of the other; its own scatter is then not
    answered. Sizes are lengths and so never negative: they grow with the error of measuring, alike
    in both families as far as both were read at the same places.

    Raises
    ------
    Refusal
        `no_shift` where a family has none.
    """
    own, other = (block_shifts(shifts.of_family(name)) for name in (candidate, reference))
    for name, blocks in ((candidate, own), (reference, other)):
        if blocks.empty:
            raise Refusal("no_shift", f"No bore of family “{name}” has a core shift.")
    a, b = own[["x", "y"]].to_numpy(), other[["x", "y"]].to_numpy()
    answers = Answers()
    return ShiftComparison(
        candidate=candidate,
        reference=reference,
        unit=shifts.unit,
        mean=answers.of("mean", lambda: vector_difference(a, b)),
        size=answers.of("size", lambda: _sizes(own["size"].to_numpy(), other["size"].to_numpy())),
        scatter=answers.of("scatter", lambda: scatter_test({candidate: a, reference: b})),
        scatter_ratio=answers.of("scatter_ratio", lambda: scatter_ratio(a, b)),
        not_answered=answers.refused,
    )


def block_shifts(shifts: CoreShifts) -> pd.DataFrame:
    """Give the mean shift of each block's bores.

    The columns are `family, block, x, y, bores` (how many have a shift), `vxx, vxy, vyy` (the
    covariance of measuring), `size` and `direction` in degrees.
    """
    known = shifts.bores[shifts.bores["reason"] == ""]
    block, first = group_codes(known, ("family", "block"))
    bores = np.bincount(block, minlength=len(first))
    x, y, vxx, vxy, vyy = (
        np.bincount(block, weights=known[name], minlength=len(first)) / bores**power
        for name, power in (("x", 1), ("y", 1), ("vxx", 2), ("vxy", 2), ("vyy", 2))
    )
    return (
        known[["family", "block"]]
        .iloc[first]
        .reset_index(drop=True)
        .astype("str")
        .assign(
            **{"x": x, "y": y, "bores": bores, "vxx": vxx, "vxy": vxy, "vyy": vyy},
            size=np.hypot(x, y),
            direction=np.degrees(np.arctan2(y, x)) % 360.0,
        )
    )


def _directions(blocks: pd.DataFrame, degrees_of_freedom: float, confidence: float) -> Directions:
    """Take the blocks whose shift differs from 0 along some direction, by Student's t."""
    x, y, vxx, vxy, vyy = (blocks[name].to_numpy() for name in ("x", "y", "vxx", "vxy", "vyy"))
    distance = (vyy * x**2 - 2 * vxy * x * y + vxx * y**2) / (vxx * vyy - vxy**2)
    bound = float(stdtrit(degrees_of_freedom, (1 + confidence) / 2)) ** 2
    kept = blocks.loc[distance > bound, "direction"].to_numpy()
    mean = mean_direction(kept)
    try:
        fit: VonMises | None = von_mises_fit(kept)
    except Refusal:
        fit = None
    return Directions(mean=mean, von_mises=fit, determined=len(kept), blocks=len(blocks))


def _sizes(candidate: Values, reference: Values) -> Difference:
    """Compare lengths by Welch; a single candidate as a single case of the reference."""
    if candidate.size == 1:
        return single_case(float(candidate[0]), reference).difference
    return welch(Summary.of(candidate), Summary.of(reference))
