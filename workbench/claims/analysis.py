"""The analysis a claim on a mean gets by default, for either scope.

`family`: the nested model fitted to the two families, blocks (and bores within them) drawn from
their families at random. `block`: the blocks measured are the whole population; only repeat error
and the gauges stand between their mean readings and the truth.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.castings.measuring import SharedError, reading_errors, resolutions, shared_error
from workbench.claims.claim import Scope
from workbench.claims.evidence import Evidence
from workbench.claims.footing import (
    PLACES,
    as_one_gauge,
    block_means,
    factors_of,
    footing,
    reading_error,
)
from workbench.errors import Refusal
from workbench.inference.means.grouped_means import GroupedMeans, Weighing
from workbench.inference.nested.fit import NestedFit, nested_fit
from workbench.inference.results import Difference
from workbench.records.settings import Gauge

LEAST_BLOCKS = 3
LEAST_DEGREES = 0.5
SOUND = 0.999


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Analysis:
    """What the default analysis of a comparison found.

    `difference` counts the shared error of measuring in, `readings_only` does not. `components` are
    the variances by level, in the unit squared. `factors` are the fixed factors beside the family,
    `gauge` being that of readings no calibration corrected; `gauge_confounded` tells that such
    gauges changed but could not be told from the families.
    `block_means` has one row a block: `family, block, mean`, on a common footing of the factors.
    `error_stated` tells that no repeats show the error of a reading, and the stated one was taken.
    """

    scope: Scope
    difference: Difference
    readings_only: Difference
    shared: SharedError
    components: dict[str, float]
    factors: tuple[str, ...]
    gauge_confounded: bool
    boundary: tuple[str, ...]
    merged: tuple[str, ...]
    block_means: pd.DataFrame
    error_stated: bool = False

    def means_of(self, family: str) -> np.ndarray:
        """Give the block means of one family."""
        means = self.block_means
        return means.loc[means["family"] == family, "mean"].to_numpy()


def analyse(evidence: Evidence, gauges: Mapping[str, Gauge], scope: Scope) -> Analysis:
    """Answer how far the candidate's mean lies from the reference's, with the right error.

    Raises
    ------
    Refusal
        `too_few_blocks` for a family claim on fewer than three blocks; `too_little_left` where
        the fixed factors leave no degrees of freedom; `no_repeats` and `not_like_with_like` for a
        block claim; what the nested model refuses.
    """
    evidence = as_one_gauge(evidence)
    factors, confounded = factors_of(evidence.cells)
    if scope == "family":
        return _of_families(evidence, gauges, factors, confounded)
    return _of_blocks(evidence, gauges, factors)


def _of_families(
    evidence: Evidence, gauges: Mapping[str, Gauge], factors: tuple[str, ...], confounded: bool
) -> Analysis:
    blocks = evidence.cells["block"].nunique()
    if blocks < LEAST_BLOCKS:
        raise Refusal(
            "too_few_blocks",
            f"{blocks} blocks in all, one of each family, show no spread between blocks; a claim "
            f"on families needs at least {LEAST_BLOCKS} blocks.",
        )
    nesting = ("block", "bore") if (evidence.cells["bore"] != "").any() else ("block",)
    fit = _fit(evidence.cells, ("family", *factors), nesting)
    difference = _contrast(fit, evidence)
    means, weighing = footing(evidence, factors)
    shared = shared_error(
        evidence.cells,
        weighing.weights,
        gauges,
        evidence.unit,
        evidence.calibrations,
        gauges_told="gauge" in factors,
        blocks_vary=True,
    )
    return Analysis(
        scope="family",
        difference=difference.widened(shared.uncertainty, shared.degrees_of_freedom),
        readings_only=difference,
        shared=shared,
        components=fit.variance_components,
        factors=factors,
        gauge_confounded=confounded,
        boundary=fit.boundary,
        merged=fit.merged,
        block_means=block_means(means),
    )


def _fit(cells: pd.DataFrame, fixed: Sequence[str], nesting: Sequence[str]) -> NestedFit:
    """Fit the nested model; repeats that never differ (a coarse gauge) count once."""
    try:
        return nested_fit(cells, response="mean", fixed=fixed, nesting=nesting)
    except Refusal as refusal:
        if refusal.code != "no_residual_spread":
            raise
    once = cells.groupby([*fixed, *nesting])["mean"].mean().reset_index()
    return nested_fit(once.assign(n=1, ss=0.0), response="mean", fixed=fixed, nesting=nesting)


def _contrast(fit: NestedFit, evidence: Evidence) -> Difference:
    """Give candidate minus reference, refused where the fixed factors leave too little to judge by.

    Estimating the variances can only add to a standard error; where the adjusted one comes out
    below that of known variances, the adjustment has broken down.
    """
    pair = evidence.candidate, evidence.reference
    difference = fit.contrast("family", *pair)
    known = fit.contrast("family", *pair, method="satterthwaite")
    degrees = difference.degrees_of_freedom
    if degrees < LEAST_DEGREES or difference.standard_error < SOUND * known.standard_error:
        raise Refusal(
            "too_little_left",
            f"Stations, depths and gauges take up nearly all that the "
            f"{fit.counts['reading']} readings can tell; too little is left to judge by.",
        )
    return difference


def _of_blocks(
    evidence: Evidence, gauges: Mapping[str, Gauge], factors: tuple[str, ...]
) -> Analysis:
    means, weighing = footing(evidence, factors)
    if not weighing.like_with_like:
        factors = tuple(name for name in factors if name in PLACES)
        means, weighing = footing(evidence, factors)
        if not weighing.like_with_like:
            raise Refusal(
                "not_like_with_like",
                "The blocks were read at different places, and no block was read at enough of them "
                "to correct for that.",
            )
    given = (evidence.cells, weighing.weights, gauges, evidence.unit, evidence.calibrations)
    shared = shared_error(*given)
    confounded, stated = not shared.cancels, max(means.repeat_df, means.residual_df) < 1
    if stated:
        difference = _stated_error(evidence, weighing, gauges)
        # what is stated for a gauge is the error of each reading here, and is not counted again
        shared = shared_error(*given, gauges_told=True)
    else:
        steps = resolutions(evidence.cells, gauges, evidence.unit)
        difference = _repeat_error(means, weighing, float(steps.max()))
    return Analysis(
        scope="block",
        difference=difference.widened(shared.uncertainty, shared.degrees_of_freedom),
        readings_only=difference,
        shared=shared,
        components={"residual": difference.standard_error**2 / means.variance_of(weighing.weights)},
        factors=factors,
        gauge_confounded=confounded,
        boundary=(),
        merged=(),
        block_means=block_means(means),
        error_stated=stated,
    )


def _repeat_error(means: GroupedMeans, weighing: Weighing, step: float) -> Difference:
    """Judge a difference of the blocks measured by how readings of a place scatter."""
    error = reading_error(means, step)
    squares = (
        means.variance_of(weighing.weights)
        if error.averages
        else float((weighing.weights**2).sum())
    )
    return Difference(
        estimate=weighing.estimate,
        standard_error=math.sqrt(error.variance * squares),
        degrees_of_freedom=error.degrees_of_freedom,
        method=f"blocks as measured, {error.method}",
    )


def _stated_error(
    evidence: Evidence, weighing: Weighing, gauges: Mapping[str, Gauge]
) -> Difference:
    """Judge a difference of the blocks measured by the error stated for each reading.

    Nothing was repeated, so what part of a gauge's stated uncertainty is common to its readings
    cannot be told; taken as new in each reading it does not cancel, which errs wide.
    """
    found = reading_errors(evidence.cells, gauges, evidence.unit, evidence.calibrations)
    if found is None:
        raise Refusal(
            "no_repeats",
            "No reading was repeated and the study states no uncertainty of the gauge, so nothing "
            "shows the error of reading these blocks.",
        )
    deviations, freedoms = found
    least = resolutions(evidence.cells, gauges, evidence.unit) / math.sqrt(12)
    n = evidence.cells["n"].to_numpy(float)
    parts = weighing.weights**2 * np.maximum(deviations, least) ** 2 / n
    by_freedom = pd.Series(parts).groupby(freedoms).sum()
    spread = float((by_freedom**2 / by_freedom.index.to_numpy(float)).sum())
    return Difference(
        estimate=weighing.estimate,
        standard_error=math.sqrt(float(parts.sum())),
        degrees_of_freedom=float(parts.sum()) ** 2 / spread if spread > 0 else math.inf,
        method="blocks as measured, stated error of each reading",
    )
