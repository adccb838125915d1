"""The analysis a claim on a mean gets, for either scope.

`family`: would it hold for the next blocks, drawn from their families at random. `block`: the
blocks measured are the whole population; only repeat error and the gauges stand between their mean
readings and the truth. `choosing` decides which analysis that is.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from workbench.castings.measuring import SharedError, resolutions, shared_error
from workbench.claims.choosing import OWN_FROM, Choice, choose
from workbench.claims.claim import Analyses, Scope
from workbench.claims.evidence import Evidence
from workbench.claims.family_difference import FamilyDifference, Variances, family_difference
from workbench.claims.footing import PLACES, as_one_gauge, block_means, factors_of, footing
from workbench.claims.measured_difference import (
    OF_SIGNS,
    nothing_repeated,
    paired_by_place,
    repeat_error,
    stated_error,
)
from workbench.claims.rivals import OF_MEANS
from workbench.errors import Refusal
from workbench.inference.results import Difference
from workbench.records.settings import Gauge

LEAST_BLOCKS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Analysis:
    """What the analysis of a comparison found.

    `choice` names it and says why it was taken. `evidence` is what it was made from, all corrected
    readings taken as one gauge's. `difference` counts the shared error of measuring in,
    `readings_only` does not. `spreads` are the variances by level of each family, in the unit
    squared: alike unless `own`. `factors` are the fixed factors beside the family, `gauge` being
    that of readings no calibration corrected; `gauge_confounded` tells that such gauges changed but
    could not be told from the families. `block_means` has one row a block: `family, block, mean`,
    on a common footing of the factors. `error_stated` tells that no repeats show the error of a
    reading, and the stated one was taken.
    """

    scope: Scope
    choice: Choice
    evidence: Evidence
    difference: Difference
    readings_only: Difference
    shared: SharedError
    spreads: Mapping[str, Variances]
    factors: tuple[str, ...]
    gauge_confounded: bool
    boundary: tuple[str, ...]
    merged: tuple[str, ...]
    block_means: pd.DataFrame
    error_stated: bool = False
    _means: dict[str, pd.Series[float]] = field(init=False, repr=False, default_factory=dict)

    @property
    def own(self) -> bool:
        """Whether each family was judged by its own spread."""
        return self.choice.name in ("own_spreads", "welch", *OF_MEANS)

    @property
    def degrees_of_freedom(self) -> float:
        """Those of its difference; NaN where no Student's t was taken."""
        plain = self.choice.name not in (*OF_MEANS, *OF_SIGNS)
        return self.difference.degrees_of_freedom if plain else math.nan

    @property
    def components(self) -> Variances:
        """The variances by level over both families, each weighed by its blocks less one."""
        families = list(self.spreads)
        weights = np.array([max(self.means_of(family).size - 1, 0) for family in families], float)
        if not weights.any() or not self.own:
            weights[:] = 1.0
        levels = dict.fromkeys(name for of in self.spreads.values() for name in of)
        return {
            name: float(weights @ [self.spreads[of].get(name, 0.0) for of in families])
            / float(weights.sum())
            for name in levels
        }

    @property
    def plans_alike(self) -> bool:
        """Whether plans take one spread for both families although the verdict does not.

        A plan adds blocks until there are enough; what a few say of their own spread is no guide.
        """
        return self.own and min(self.means_of(family).size for family in self.spreads) < OWN_FROM

    @property
    def for_plans(self) -> Difference:
        """What plans start from: the readings alone, with spreads common where blocks are few."""
        if not self.plans_alike:
            return self.readings_only
        counts = [self.means_of(family).size for family in self.spreads]
        degrees = sum(counts) - 2
        squares = sum(
            float(((means - means.mean()) ** 2).sum()) for means in map(self.means_of, self.spreads)
        )
        return Difference(
            estimate=self.readings_only.estimate,
            standard_error=float(np.sqrt(squares / degrees * sum(1 / n for n in counts))),
            degrees_of_freedom=degrees,
            method="pooled on block means",
        )

    def means_of(self, family: str) -> np.ndarray:
        """Give the block means of one family."""
        return self.of_blocks(family).to_numpy()

    def of_blocks(self, family: str) -> pd.Series[float]:
        """Give the block means of one family, by block."""
        if family not in self._means:
            mine = self.block_means[(self.block_means["family"] == family).to_numpy()]
            self._means[family] = mine.set_index("block")["mean"]
        return self._means[family]


def analyse(
    evidence: Evidence,
    gauges: Mapping[str, Gauge],
    scope: Scope,
    *,
    asked: Analyses | None = None,
    names: Sequence[str] | None = None,
    seed: Sequence[int] = (0,),
) -> Analysis:
    """Answer how far the candidate's mean lies from the reference's, with the right error.

    Parameters
    ----------
    evidence, gauges, scope
        What was read, what is stated of the gauges, and for which blocks it is to hold.
    asked
        The analysis the claim names; left out, `choosing` decides.
    names
        What the families are called where the choice is given its reason.
    seed
        Of an analysis that draws.

    Raises
    ------
    Refusal
        `too_few_blocks` for a family claim on fewer than three blocks; `too_little_left` where
        the fixed factors leave no degrees of freedom; `no_repeats` and `not_like_with_like` for a
        block claim; `analysis_does_not_fit`; what the analysis itself refuses.
    """
    evidence = as_one_gauge(evidence)
    names = names or (evidence.candidate, evidence.reference)
    factors, confounded = factors_of(evidence.cells)
    if scope == "family":
        return _of_families(evidence, gauges, factors, confounded, asked, names, seed)
    return _of_blocks(evidence, gauges, factors, asked, names, seed)


def _of_families(
    evidence: Evidence,
    gauges: Mapping[str, Gauge],
    factors: tuple[str, ...],
    confounded: bool,
    asked: Analyses | None,
    names: Sequence[str],
    seed: Sequence[int],
) -> Analysis:
    blocks = evidence.cells["block"].nunique()
    if blocks < LEAST_BLOCKS:
        raise Refusal(
            "too_few_blocks",
            f"{blocks} blocks in all, one of each family, show no spread between blocks; a claim "
            f"on families needs at least {LEAST_BLOCKS} blocks.",
        )
    means, weighing = footing(evidence, factors)
    table = block_means(means)
    by_family = {
        family: table.loc[table["family"] == family, "mean"].to_numpy()
        for family in (evidence.candidate, evidence.reference)
    }
    choice = choose("family", *by_family.values(), asked=asked, names=names)
    choice, found = _fitted(evidence, factors, choice, by_family, seed)
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
        choice=choice,
        evidence=evidence,
        difference=found.difference.widened(shared.uncertainty, shared.degrees_of_freedom),
        readings_only=found.difference,
        shared=shared,
        spreads=found.spreads,
        factors=factors,
        gauge_confounded=confounded,
        boundary=found.boundary,
        merged=found.merged,
        block_means=table,
    )


def _fitted(
    evidence: Evidence,
    factors: Sequence[str],
    choice: Choice,
    means: Mapping[str, np.ndarray],
    seed: Sequence[int],
) -> tuple[Choice, FamilyDifference]:
    """Make the analysis chosen; own spreads that cannot be fitted give way to Welch's analysis."""
    try:
        return choice, family_difference(evidence, factors, choice.name, means, seed=seed)
    except Refusal as refusal:
        if choice.asked or choice.name != "own_spreads":
            raise
        try:
            found = family_difference(evidence, factors, "welch", means)
        except Refusal:
            raise refusal from None
        reason = f"{choice.why} The nested model cannot give that here ({refusal}), so Welch's "
        why = f"{reason}analysis of the block means does."
        return replace(choice, name="welch", why=why), found


def _of_blocks(
    evidence: Evidence,
    gauges: Mapping[str, Gauge],
    factors: tuple[str, ...],
    asked: Analyses | None,
    names: Sequence[str],
    seed: Sequence[int],
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
    nobody = np.empty(0)
    choice = choose("block", nobody, nobody, asked=asked, names=names)
    given = (evidence.cells, weighing.weights, gauges, evidence.unit, evidence.calibrations)
    shared = shared_error(*given)
    confounded, stated = not shared.cancels, False
    if choice.name == "paired_places" or choice.name in OF_SIGNS:
        difference = paired_by_place(evidence, choice.name, seed)
    elif nothing_repeated(means):
        stated = True
        difference = stated_error(evidence, weighing, gauges)
        # what is stated for a gauge is the error of each reading here, and is not counted again
        shared = shared_error(*given, gauges_told=True)
    else:
        steps = resolutions(evidence.cells, gauges, evidence.unit)
        difference = repeat_error(means, weighing, float(steps.max()))
    residual = difference.standard_error**2 / means.variance_of(weighing.weights)
    return Analysis(
        scope="block",
        choice=choice,
        evidence=evidence,
        difference=difference.widened(shared.uncertainty, shared.degrees_of_freedom),
        readings_only=difference,
        shared=shared,
        spreads={
            family: {"residual": residual} for family in (evidence.candidate, evidence.reference)
        },
        factors=factors,
        gauge_confounded=confounded,
        boundary=(),
        merged=(),
        block_means=block_means(means),
        error_stated=stated,
    )
