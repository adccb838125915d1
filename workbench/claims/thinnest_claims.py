"""Claims on the thinnest place of a block, on the grid both families were read on.

Families are judged by the thinnest place the nested model expects of a block: whole blocks of the
shared grid, so that a family read at more places is not thought thinner for that. Each family has
spreads of its own where both have blocks enough, else the two lend each other theirs. Beside it
stand the least readings as counted, and an extreme-value fit to them. The blocks measured alone are
judged by their least readings and the error of reading those. Readings hunted for enter neither:
counted beside, they can only lower a block.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.castings.measuring import SharedError, shared_error
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.figure_analysis import FamilyFigure, FigureAnalysis, Rival
from workbench.claims.footing import (
    ReadingError,
    as_one_gauge,
    common_means,
    error_of_cells,
)
from workbench.claims.grid import Grid, least_cells, shared_grid
from workbench.claims.place_spreads import errors_of_places, place_spreads
from workbench.errors import Refusal
from workbench.inference.means.welch import Summary, welch
from workbench.inference.results import Difference
from workbench.inference.samples import Values
from workbench.records.settings import Gauge

COUNTED = "least readings of whole blocks, Welch"
FITTED = "extreme values fitted to the least readings"
HUNTED = "least readings, places hunted for counted in"
FEWEST_FITTED = 8
FEWEST_BINDING = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Readings:
    """What every way of looking at the thinnest place starts from."""

    claim: Claim
    evidence: Evidence
    grid: Grid
    weights: Values
    errors: Values
    error: ReadingError | None
    shared: SharedError

    @property
    def minima(self) -> tuple[Values, Values]:
        """The least value of each block read nearly all over, of candidate and reference."""
        ours, others = map(self.grid.least, (self.claim.candidate, self.claim.reference))
        return np.asarray(ours, dtype=float), np.asarray(others, dtype=float)

    def widened(self, difference: Difference) -> Difference:
        """Count the shared error of measuring in."""
        return difference.widened(self.shared.uncertainty, self.shared.degrees_of_freedom)


def analyse_thinnest(
    claim: Claim,
    evidence: Evidence,
    gauges: Mapping[str, Gauge],
    confidence: float,
    *,
    hunted: pd.DataFrame,
    seed: Sequence[int],
) -> FigureAnalysis:
    """Answer how much thicker the candidate is at the thinnest place of a block.

    `hunted` holds the corrected readings at places looked for because they are thin: `family,
    block, mean`, blocks named as in `evidence.cells`.

    Raises
    ------
    Refusal
        `incomplete_grid`, `too_few_blocks`, `zero_spread`; for blocks as measured `no_repeats` and
        `not_like_with_like`.
    """
    evidence = as_one_gauge(evidence)
    weights = least_cells(evidence)
    errors, error = error_of_cells(evidence, common_means(evidence), gauges)
    read = _Readings(
        claim=claim,
        evidence=evidence,
        grid=shared_grid(evidence),
        weights=weights,
        errors=errors,
        error=error,
        shared=shared_error(
            evidence.cells,
            weights,
            gauges,
            evidence.unit,
            evidence.calibrations,
            blocks_vary=claim.scope == "family",
        ),
    )
    if claim.scope == "block":
        return _of_blocks(read, hunted)
    return _of_families(read, confidence, hunted, seed)


def _of_families(
    read: _Readings, confidence: float, hunted: pd.DataFrame, seed: Sequence[int]
) -> FigureAnalysis:
    from workbench.inference.extremes.comparison import thinnest_difference

    claim, grid = read.claim, read.grid
    spreads = place_spreads(grid, claim.candidate, claim.reference)
    found = thinnest_difference(
        spreads.candidate,
        spreads.reference,
        bores=grid.bores,
        seed=seed,
        error_variances=errors_of_places(grid, (claim.candidate, claim.reference), read.error),
        draws=draws_for(confidence),
    )
    blocks = [read.evidence.count(f).blocks for f in (claim.candidate, claim.reference)]
    own, other = found.families
    return FigureAnalysis(
        scope="family",
        difference=found.widened(read.shared.uncertainty, seed=[*seed, 1]),
        method=f"{found.method}, {spreads.words}",
        shared=read.shared,
        families=(
            FamilyFigure(
                family=claim.candidate, value=own.estimate, interval=own.interval(confidence)
            ),
            FamilyFigure(
                family=claim.reference, value=other.estimate, interval=other.interval(confidence)
            ),
        ),
        variances=(own.variance * blocks[0], other.variance * blocks[1]),
        unit=read.evidence.unit,
        finest=read.evidence.finest,
        grid=grid,
        own_spreads=spreads.own,
        rivals=(_counted(read), _fitted(read), *_with_hunted(read, hunted)),
        components=tuple(
            (f"{level}, {family}", math.sqrt(value))
            for family, squares in (
                (claim.candidate, spreads.candidate),
                (claim.reference, spreads.reference),
            )
            for level, value in squares.variances.items()
        ),
    )


def _counted(read: _Readings) -> Rival:
    """Set the least readings of whole blocks against each other."""
    ours, others = read.minima
    if min(ours.size, others.size) < 2:
        return Rival(name=COUNTED, note="not made: each family needs two blocks read all over")
    try:
        answer = welch(Summary.of(ours), Summary.of(others))
    except Refusal as refusal:
        return Rival(name=COUNTED, note=f"not made: {refusal}")
    return Rival(
        name=COUNTED,
        answer=read.widened(answer),
        note=f"{ours.size} and {others.size} blocks; the error of reading makes each look thinner",
    )


def _fitted(read: _Readings) -> Rival:
    from workbench.inference.extremes.fitted_median import fitted_median_difference

    ours, others = read.minima
    few = min(ours.size, others.size)
    if few < FEWEST_FITTED:
        note = f"not made: each family needs {FEWEST_FITTED} blocks read all over"
        return Rival(name=FITTED, note=note)
    try:
        answer = fitted_median_difference(ours, others, step=read.evidence.step)
    except Refusal as refusal:
        return Rival(name=FITTED, note=f"not made: {refusal}")
    return Rival(name=FITTED, answer=read.widened(answer), note="of the median block")


def _of_blocks(read: _Readings, hunted: pd.DataFrame) -> FigureAnalysis:
    """Judge the least readings of the blocks measured by the error of reading them."""
    variance = float((read.weights**2 * read.errors).sum())
    if variance == 0:
        raise Refusal(
            "no_repeats",
            "No reading was repeated and the study states no uncertainty of the gauge, so nothing "
            "shows the error of reading these blocks.",
        )
    ours, others = read.minima
    error = read.error
    alone = Difference(
        estimate=float(ours.mean() - others.mean()),
        standard_error=math.sqrt(variance),
        degrees_of_freedom=math.inf if error is None else error.degrees_of_freedom,
        method="least readings of the blocks as measured, "
        + ("stated error of each reading" if error is None else error.method),
    )
    difference = read.widened(alone)
    own = (read.evidence.cells["family"] == read.claim.candidate).to_numpy()
    parts = [float((read.weights[at] ** 2 * read.errors[at]).sum()) for at in (own, ~own)]
    return FigureAnalysis(
        scope="block",
        difference=difference,
        method=difference.method,
        shared=read.shared,
        families=(
            FamilyFigure(family=read.claim.candidate, value=float(ours.mean()), interval=None),
            FamilyFigure(family=read.claim.reference, value=float(others.mean()), interval=None),
        ),
        variances=(parts[0] * ours.size, parts[1] * others.size),
        unit=read.evidence.unit,
        finest=read.evidence.finest,
        grid=read.grid,
        rivals=_with_hunted(read, hunted),
        degrees_of_freedom=difference.degrees_of_freedom,
    )


def _with_hunted(read: _Readings, hunted: pd.DataFrame) -> tuple[Rival, ...]:
    """Let readings hunted for lower the blocks they were made on; they can do nothing else."""
    if hunted.empty:
        return ()
    least = hunted.groupby("block")["mean"].min()
    lowered = []
    for family in (read.claim.candidate, read.claim.reference):
        mine = read.grid.least(family)
        lowered.append(np.fmin(mine.to_numpy(float), least.reindex(mine.index).to_numpy(float)))
    before, after = read.minima, lowered
    moved = sum(int((a < b).sum()) for a, b in zip(after, before, strict=True))
    if not moved:
        return ()
    note = f"they lower {moved} block{'' if moved == 1 else 's'}; not every block was hunted over"
    if read.claim.scope == "block":
        error = math.sqrt(float((read.weights**2 * read.errors).sum()))
        freedom = math.inf if read.error is None else read.error.degrees_of_freedom
        answer = Difference(
            estimate=float(after[0].mean() - after[1].mean()),
            standard_error=error,
            degrees_of_freedom=freedom,
            method=HUNTED,
        )
    else:
        try:
            answer = welch(Summary.of(after[0]), Summary.of(after[1]))
        except Refusal as refusal:
            return (Rival(name=HUNTED, note=f"not made: {refusal}"),)
    return (Rival(name=HUNTED, answer=read.widened(answer), note=note, binding=False),)


def draws_for(confidence: float) -> int:
    """Give the draws an interval at `confidence` needs: 25 beyond each end, 999 at least."""
    return max(999, math.ceil(50 / (1 - confidence)))
