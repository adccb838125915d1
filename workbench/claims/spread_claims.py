"""Claims on spread: how much the blocks of a family differ among themselves.

The figure is the standard deviation of block means, each block at equal shares of the places both
families were read at: consistency from block to block, not evenness within a block. Families are
judged by the F ratio of their variances, carried over to the difference in the unit of the
quantity; the blocks measured alone, by how far the error of reading them can move their spread.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from workbench.castings.measuring import SharedError, shared_error
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.figure_analysis import FamilyFigure, FigureAnalysis, Rival
from workbench.claims.footing import ReadingError, as_one_gauge, common_means, error_of_cells
from workbench.errors import Refusal
from workbench.inference.means.grouped_means import GroupedMeans
from workbench.inference.results import Difference, Interval
from workbench.inference.samples import Values
from workbench.records.settings import Gauge

TO_DEVIATION = math.sqrt(math.pi / 2)  # a mean distance of normal values, as a standard deviation
ENOUGH_FOR_DISTANCES = 10
LEAST_LEFT = 1e-6  # of a spread, where the error of reading is all of it
ALIKE = 1e-12  # of the means
MEDIAN, ERROR_OFF = "distances from the median (Brown and Forsythe)", "error of reading taken off"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlockMeans:
    """The block means of one family, and the variance the error of reading leaves in each."""

    family: str
    means: Values
    errors: Values

    @property
    def deviation(self) -> float:
        """The standard deviation of the block means as read."""
        return float(self.means.std(ddof=1))

    @property
    def without_error(self) -> float:
        """The same with the error of reading taken off; 0 where that is all there is."""
        return math.sqrt(max(self.deviation**2 - float(self.errors.mean()), 0.0))

    @property
    def pull(self) -> Values:
        """How much the standard deviation moves with each block mean."""
        apart = self.means - self.means.mean()
        found: Values = apart / ((self.means.size - 1) * self.deviation)
        return found


def analyse_spread(
    claim: Claim, evidence: Evidence, gauges: Mapping[str, Gauge], confidence: float
) -> FigureAnalysis:
    """Answer how much more the candidate's blocks differ among themselves than the reference's.

    Raises
    ------
    Refusal
        `one_block_no_spread` where a family has one block; `no_block_spread` where all blocks of a
        family are equal; for blocks as measured also `not_like_with_like` and `no_repeats`.
    """
    evidence = as_one_gauge(evidence)
    for family in (claim.candidate, claim.reference):
        if evidence.count(family).blocks < 2:
            raise Refusal(
                "one_block_no_spread",
                f"One block of {family} shows nothing of how {family} blocks differ among "
                "themselves.",
            )
    means = common_means(evidence)
    errors, error = error_of_cells(evidence, means, gauges)
    ours, others = (
        _block_means(evidence, means, errors, family)
        for family in (claim.candidate, claim.reference)
    )
    shared = _shared(claim, evidence, means, gauges, ours, others)
    if claim.scope == "block":
        return _of_blocks(evidence, ours, others, shared, error)
    return _of_families(evidence, ours, others, shared, confidence)


def block_spreads(evidence: Evidence) -> tuple[BlockMeans, BlockMeans]:
    """Give the block means of candidate and reference as a claim on spread compares them."""
    evidence = as_one_gauge(evidence)
    means = common_means(evidence)
    nothing = np.zeros(len(evidence.cells))
    ours, others = (
        _block_means(evidence, means, nothing, family)
        for family in (evidence.candidate, evidence.reference)
    )
    return ours, others


def _block_means(
    evidence: Evidence,
    means: GroupedMeans,
    errors: Values,
    family: str,
) -> BlockMeans:
    table = means.groups.assign(mean=means.means)
    blocks = table[table["family"] == family].groupby("block", sort=True)["mean"].mean()
    if float(np.ptp(blocks.to_numpy())) <= ALIKE * float(np.abs(blocks).max()):
        raise Refusal(
            "no_block_spread",
            f"The means of all {len(blocks)} blocks of {family} are equal to the gauge's step, so "
            "their spread is not known.",
        )
    cells = evidence.of(family)
    n = cells["n"].to_numpy(float)
    variance = errors[(evidence.cells["family"] == family).to_numpy()]
    # a block's mean weighs its bores alike, and readings alike within a bore
    keys = [cells["block"].to_numpy(), cells["bore"].to_numpy()]
    of_bore = pd.DataFrame({"v": n**2 * variance, "n": n}).groupby(keys, sort=True).sum()
    by_bore = of_bore["v"] / of_bore["n"] ** 2
    of_block = by_bore.groupby(level=0, sort=True).agg(["sum", "size"])
    left = (of_block["sum"] / of_block["size"] ** 2).reindex(blocks.index)
    return BlockMeans(family=family, means=blocks.to_numpy(float), errors=left.to_numpy(float))


def _shared(
    claim: Claim,
    evidence: Evidence,
    means: GroupedMeans,
    gauges: Mapping[str, Gauge],
    ours: BlockMeans,
    others: BlockMeans,
) -> SharedError:
    """Answer how far errors of measuring common to some blocks can move the spreads apart.

    One common to all blocks of a family moves them alike and leaves their spread as it is.
    """
    labels = means.groups
    bores = labels.groupby("block")["family"].transform("size").to_numpy()
    pull = np.zeros(len(labels))
    for sign, family in ((1.0, ours), (-1.0, others)):
        mine = (labels["family"] == family.family).to_numpy()
        codes = labels.loc[mine, "block"].rank(method="dense").to_numpy(int) - 1
        pull[mine] = sign * family.pull[codes] / bores[mine]
    return shared_error(
        evidence.cells,
        means.weigh(pull).weights,
        gauges,
        evidence.unit,
        evidence.calibrations,
        blocks_vary=claim.scope == "family",
    )


def _of_families(
    evidence: Evidence,
    ours: BlockMeans,
    others: BlockMeans,
    shared: SharedError,
    confidence: float,
) -> FigureAnalysis:
    from workbench.inference.means.intervals import sd_interval
    from workbench.inference.spreads.difference import spread_difference

    alone = spread_difference(ours.means, others.means)
    difference = alone.widened(shared.uncertainty, shared.degrees_of_freedom)
    ends = [
        Interval(low=found.low, high=found.high, confidence=confidence)
        for found in (sd_interval(family.means, confidence) for family in (ours, others))
    ]
    freedoms = alone.candidate_degrees_of_freedom, alone.reference_degrees_of_freedom
    return FigureAnalysis(
        scope="family",
        difference=difference,
        method=alone.method,
        shared=shared,
        families=(
            FamilyFigure(family=ours.family, value=ours.deviation, interval=ends[0]),
            FamilyFigure(family=others.family, value=others.deviation, interval=ends[1]),
        ),
        variances=(
            ours.means.size * ours.deviation**2 / (2 * freedoms[0]),
            others.means.size * others.deviation**2 / (2 * freedoms[1]),
        ),
        unit=evidence.unit,
        finest=evidence.finest,
        rivals=(
            _by_distances(ours, others, shared),
            Rival(
                name=ERROR_OFF,
                answer=replace(
                    difference,
                    candidate_sd=max(ours.without_error, LEAST_LEFT * ours.deviation),
                    reference_sd=max(others.without_error, LEAST_LEFT * others.deviation),
                ),
                note="the scatter of readings is no difference between blocks",
            ),
        ),
    )


def _by_distances(ours: BlockMeans, others: BlockMeans, shared: SharedError) -> Rival:
    from workbench.inference.means.pooled import pooled

    few = min(ours.means.size, others.means.size)
    distances = [
        TO_DEVIATION * np.abs(family.means - np.median(family.means)) for family in (ours, others)
    ]
    try:
        answer = pooled(*distances).widened(shared.uncertainty, shared.degrees_of_freedom)
    except Refusal as refusal:
        return Rival(name=MEDIAN, note=f"not made: {refusal}")
    return Rival(
        name=MEDIAN,
        answer=answer,
        note="minds no shape"
        + ("; too few blocks for it to bind" if few < ENOUGH_FOR_DISTANCES else ""),
        binding=few >= ENOUGH_FOR_DISTANCES,
    )


def _of_blocks(
    evidence: Evidence,
    ours: BlockMeans,
    others: BlockMeans,
    shared: SharedError,
    error: ReadingError | None,
) -> FigureAnalysis:
    """Judge the spreads of the blocks measured by what the error of reading leaves open of them."""
    variances = [float((family.pull**2 * family.errors).sum()) for family in (ours, others)]
    if sum(variances) == 0:
        raise Refusal(
            "no_repeats",
            "No reading was repeated and the study states no uncertainty of the gauge, so nothing "
            "shows the error of reading these blocks.",
        )
    freedom = math.inf if error is None else error.degrees_of_freedom
    difference = Difference(
        estimate=ours.without_error - others.without_error,
        standard_error=math.sqrt(sum(variances)),
        degrees_of_freedom=freedom,
        method="spread of the blocks as measured, "
        + ("stated error of each reading" if error is None else error.method),
    ).widened(shared.uncertainty, shared.degrees_of_freedom)
    return FigureAnalysis(
        scope="block",
        difference=difference,
        method=difference.method,
        shared=shared,
        families=(
            FamilyFigure(family=ours.family, value=ours.without_error, interval=None),
            FamilyFigure(family=others.family, value=others.without_error, interval=None),
        ),
        variances=(variances[0] * ours.means.size, variances[1] * others.means.size),
        unit=evidence.unit,
        finest=evidence.finest,
        rivals=(
            Rival(
                name=MEDIAN,
                note="not made: it asks about blocks not yet measured, this claim only of those "
                "that were",
            ),
        ),
        degrees_of_freedom=difference.degrees_of_freedom,
    )
