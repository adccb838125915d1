"""The difference of two families by the analysis chosen: nested, or of block means.

The nested model is not held to variances above zero: held there, it makes too few false alarms
where blocks hardly differ or are few. Where it finds none, zero is what is told of it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import pandas as pd

from workbench.claims.claim import Analyses
from workbench.claims.evidence import Evidence
from workbench.claims.footing import levels_of
from workbench.claims.rivals import OF_MEANS, crossed_fit, rival_of_means
from workbench.errors import Refusal
from workbench.inference.means.welch import Summary, welch
from workbench.inference.nested.model import NestedModel, nested_model
from workbench.inference.nested.result import Method
from workbench.inference.nested.unequal import UnequalModel, unequal_model
from workbench.inference.results import Difference

LEAST_DEGREES = 0.5
SOUND = 0.999
Variances = dict[str, float]
Contrast = Callable[[Method], Difference]
Model = TypeVar("Model", NestedModel, UnequalModel)


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyDifference:
    """Candidate less reference, with the variances by level of each family.

    `boundary` names the components estimated at zero, `merged` the levels counted in another.
    """

    difference: Difference
    spreads: Mapping[str, Variances]
    boundary: tuple[str, ...] = ()
    merged: tuple[str, ...] = ()


def family_difference(
    evidence: Evidence,
    factors: Sequence[str],
    analysis: Analyses,
    means: Mapping[str, np.ndarray],
    *,
    seed: Sequence[int] = (0,),
) -> FamilyDifference:
    """Answer how far two families lie apart by one of the analyses for families.

    Parameters
    ----------
    evidence, factors
        The cells, and the fixed factors beside the family.
    analysis
        Any of those for families.
    means
        One number a block for each family, on a common footing.
    seed
        Of an analysis that draws.

    Raises
    ------
    Refusal
        What the analysis refuses; `too_little_left` where the factors take up the readings.
    """
    if analysis in ("welch", "pooled"):
        return _of_means(evidence, analysis, means)
    if analysis in OF_MEANS:
        difference = rival_of_means(analysis, evidence, factors, means, seed)
        return FamilyDifference(difference=difference, spreads=_of_blocks(means))
    if analysis == "crossed":
        return _crossed(evidence, factors)
    if analysis == "own_spreads":
        return _own(evidence, factors)
    return _common(evidence, factors, single=analysis == "single_case")


def common_model(
    evidence: Evidence, factors: Sequence[str], *, bounded: bool = False
) -> NestedModel:
    """Fit the nested model with spreads common to the families, held at zero where `bounded`."""
    fixed, nesting = ("family", *factors), levels_of(evidence.cells)

    def made(cells: pd.DataFrame, bounded: bool) -> NestedModel:
        return nested_model(cells, response="mean", fixed=fixed, nesting=nesting, bounded=bounded)

    return _made(made, evidence.cells, factors, bounded)


def own_model(evidence: Evidence, factors: Sequence[str], *, bounded: bool = False) -> UnequalModel:
    """Fit the model in which each family has spreads of its own, held at zero where `bounded`."""
    nesting = levels_of(evidence.cells)

    def made(cells: pd.DataFrame, bounded: bool) -> UnequalModel:
        return unequal_model(
            cells, response="mean", by="family", fixed=factors, nesting=nesting, bounded=bounded
        )

    return _made(made, evidence.cells, factors, bounded)


def _made(
    made: Callable[[pd.DataFrame, bool], Model],
    cells: pd.DataFrame,
    factors: Sequence[str],
    bounded: bool,
) -> Model:
    """Fit a model, its repeats counted once where they never differ (a coarse gauge).

    Not `bounded`, its variances are held at zero only where they would fall without end.
    """
    try:
        held = made(cells, True)
    except Refusal as refusal:
        if refusal.code != "no_residual_spread":
            raise
        cells = _once(cells, factors)
        held = made(cells, True)
    if bounded or not held.fit.boundary:
        return held
    try:
        free = made(cells, False)
    except Refusal:
        return held
    return free if free.fit.converged else held


def _common(evidence: Evidence, factors: Sequence[str], *, single: bool) -> FamilyDifference:
    fit = common_model(evidence, factors).fit
    pair = evidence.candidate, evidence.reference
    difference = _sound(lambda method: fit.contrast("family", *pair, method), evidence)
    if single:
        difference = Difference(
            estimate=difference.estimate,
            standard_error=difference.standard_error,
            degrees_of_freedom=difference.degrees_of_freedom,
            method=f"single case: {difference.method}",
        )
    return FamilyDifference(
        difference=difference,
        spreads=dict.fromkeys(pair, _as_variances(fit.variance_components)),
        boundary=fit.boundary,
        merged=fit.merged,
    )


def _own(evidence: Evidence, factors: Sequence[str]) -> FamilyDifference:
    model = own_model(evidence, factors)
    pair = evidence.candidate, evidence.reference
    return FamilyDifference(
        difference=_sound(lambda method: model.contrast(*pair, method), evidence),
        spreads={family: _as_variances(model.variances[family]) for family in pair},
        boundary=model.fit.boundary,
        merged=model.fit.merged,
    )


def _crossed(evidence: Evidence, factors: Sequence[str]) -> FamilyDifference:
    fit = crossed_fit(evidence, factors)
    pair = evidence.candidate, evidence.reference
    levels = (*levels_of(evidence.cells), "residual")
    own = {name: fit.variance_components[name] for name in levels}
    return FamilyDifference(
        difference=_sound(lambda method: fit.contrast("family", *pair, method), evidence),
        spreads=dict.fromkeys(pair, own),
        boundary=fit.boundary,
    )


def _of_blocks(means: Mapping[str, np.ndarray]) -> dict[str, Variances]:
    """Give the variance of the block means of each family; 0 for a single block."""
    return {
        family: {"block": float(values.var(ddof=1)) if values.size > 1 else 0.0}
        for family, values in means.items()
    }


def _of_means(
    evidence: Evidence, analysis: Analyses, means: Mapping[str, np.ndarray]
) -> FamilyDifference:
    ours, others = (means[family] for family in (evidence.candidate, evidence.reference))
    if analysis == "welch":
        difference = welch(Summary.of(ours), Summary.of(others))
        variances = [float(values.var(ddof=1)) for values in (ours, others)]
    else:
        from workbench.inference.means.pooled import pooled  # it is slow to load, and few ask

        difference = pooled(ours, others)
        variance = difference.standard_error**2 / (1 / ours.size + 1 / others.size)
        variances = [variance, variance]
    pair = evidence.candidate, evidence.reference
    return FamilyDifference(
        difference=Difference(
            estimate=difference.estimate,
            standard_error=difference.standard_error,
            degrees_of_freedom=difference.degrees_of_freedom,
            method=f"{difference.method} on block means",
        ),
        spreads={family: {"block": v} for family, v in zip(pair, variances, strict=True)},
    )


def _as_variances(found: Mapping[str, float]) -> Variances:
    return {name: max(value, 0.0) for name, value in found.items()}


def _once(cells: pd.DataFrame, factors: Sequence[str]) -> pd.DataFrame:
    keys = ["family", *factors, *levels_of(cells)]
    return cells.groupby(keys)["mean"].mean().reset_index().assign(n=1, ss=0.0)


def _sound(contrast: Contrast, evidence: Evidence) -> Difference:
    """Give the difference, refused where the fixed factors leave too little to judge by.

    Estimating the variances can only add to a standard error; where the adjusted one comes out
    below that of known variances, the adjustment has broken down.
    """
    difference, known = contrast("kenward-roger"), contrast("satterthwaite")
    degrees = difference.degrees_of_freedom
    if degrees < LEAST_DEGREES or difference.standard_error < SOUND * known.standard_error:
        raise Refusal(
            "too_little_left",
            f"Stations, depths and gauges take up nearly all that the "
            f"{int(evidence.cells['n'].sum())} readings can tell; too little is left to judge by.",
        )
    return difference
