"""The difference of the very blocks measured: only the error of reading them stands in the way."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.measuring import reading_errors, resolutions
from workbench.claims.claim import Analyses
from workbench.claims.evidence import Evidence
from workbench.claims.footing import reading_error
from workbench.errors import Refusal
from workbench.inference.means.grouped_means import GroupedMeans, Weighing
from workbench.inference.means.paired import match_places, paired
from workbench.inference.results import Difference
from workbench.inference.widened import Answer, rival
from workbench.records.settings import Gauge

OF_SIGNS: dict[Analyses, str] = {
    "signed_ranks": "blocks as measured, signed ranks of places (Wilcoxon)",
    "signs": "blocks as measured, signs of places turned (permutation)",
}


def nothing_repeated(means: GroupedMeans) -> bool:
    """Tell that neither repeats nor what is left beside the factors show the error of reading."""
    return max(means.repeat_df, means.residual_df) < 1


def paired_by_place(
    evidence: Evidence, analysis: Analyses = "paired_places", seed: Sequence[int] = (0,)
) -> Difference:
    """Judge a difference of the blocks measured by how it changes from place to place.

    Each place (bore, station, depth) gives one difference; that the iron differs from place to
    place counts as chance, so this is wider than the error of reading. `analysis` takes the
    differences as normal (`paired_places`), by their signed ranks, or with every sign turned
    (`signs`, drawn from `seed` beyond twenty places).

    Raises
    ------
    Refusal
        `no_common_place`, `too_few` (places), `zero_spread`.
    """
    sides = []
    for family in (evidence.candidate, evidence.reference):
        cells = evidence.of(family)
        keys = ["block", "bore", "station", "depth"]
        total = (cells["n"] * cells["mean"]).groupby([cells[key] for key in keys]).sum()
        means = total / cells.groupby(keys)["n"].sum()
        sides.append(means.groupby(keys[1:]).mean().to_dict())
    matched = match_places(*sides)
    found = paired(matched.candidate, matched.reference)
    if analysis in OF_SIGNS:
        return rival(
            _signed(matched.candidate - matched.reference, analysis, seed),
            standard_error=found.standard_error,
            degrees_of_freedom=found.degrees_of_freedom,
            method=OF_SIGNS[analysis],
        )
    return Difference(
        estimate=found.estimate,
        standard_error=found.standard_error,
        degrees_of_freedom=found.degrees_of_freedom,
        method="blocks as measured, paired by place",
    )


def _signed(apart: NDArray[np.float64], analysis: Analyses, seed: Sequence[int]) -> Answer:
    if analysis == "signed_ranks":
        from workbench.inference.ranks.signed_rank import signed_rank

        return signed_rank(apart)
    from workbench.inference.resampling.sign_permutation import sign_permutation

    return sign_permutation(
        apart, seed=int(np.random.SeedSequence(list(seed)).generate_state(1)[0])
    )


def repeat_error(means: GroupedMeans, weighing: Weighing, step: float) -> Difference:
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


def stated_error(evidence: Evidence, weighing: Weighing, gauges: Mapping[str, Gauge]) -> Difference:
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
