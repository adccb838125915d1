"""Analyses of two families a claim may ask for by name, beside the nested model and Welch's.

All but `crossed` take one number a block, on a common footing of places and gauges, and none of
those has a standard error: that of Welch's analysis sets their digits and starts their plans.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from workbench.claims.choosing import does_not_fit
from workbench.claims.claim import Analyses
from workbench.claims.evidence import Evidence
from workbench.claims.footing import footing, gauge_of_blocks, levels_of
from workbench.errors import Refusal
from workbench.inference.means.welch import Summary, welch
from workbench.inference.nested.result import NestedFit
from workbench.inference.resampling.permutation import permute_blocks
from workbench.inference.results import Difference
from workbench.inference.widened import Answer, RivalDifference, rival

OF_MEANS: tuple[Analyses, ...] = (
    "permutation",
    "ranks",
    "relative_effect",
    "bootstrap",
    "bores_bootstrap",
)
METHODS: dict[Analyses, str] = {
    "permutation": "permutation of blocks",
    "ranks": "ranks of block means (Mann-Whitney), shift of the middle",
    "relative_effect": "relative effect of block means (Brunner-Munzel), shift of the middle",
    "bootstrap": "blocks drawn anew (bootstrap), studentised",
    "bores_bootstrap": "blocks and then bores drawn anew (bootstrap), studentised",
}
MANY = 5  # gauges, or operators, from which they are taken for a draw from more of their kind
CHANCE = ("gauge", "operator")
Means = Mapping[str, np.ndarray]


def rival_of_means(
    name: Analyses, evidence: Evidence, factors: Sequence[str], means: Means, seed: Sequence[int]
) -> RivalDifference:
    """Compare two families by an analysis that has no standard error.

    Raises
    ------
    Refusal
        What the analysis refuses; `analysis_does_not_fit` where no bores are named to be drawn.
    """
    ours, others = (means[family] for family in (evidence.candidate, evidence.reference))
    answer = _answer(name, evidence, factors, (ours, others), seed)
    rough = _rough(ours, others)
    return rival(
        answer,
        standard_error=rough.standard_error,
        degrees_of_freedom=rough.degrees_of_freedom,
        method=METHODS[name],
    )


def crossed_fit(evidence: Evidence, factors: Sequence[str]) -> NestedFit:
    """Fit blocks, bores, and the many gauges and operators they were read by, all as drawn.

    Raises
    ------
    Refusal
        `analysis_does_not_fit` where neither gauges nor operators are many; what the fit refuses.
    """
    from workbench.inference.nested.crossed import crossed_effects_fit

    cells = evidence.cells
    many = {name: cells[name].nunique() for name in CHANCE}
    drawn = [name for name in CHANCE if many[name] >= MANY and (cells[name] != "").all()]
    if not drawn:
        raise does_not_fit(
            "crossed",
            f"it takes gauges or operators for a draw from many, and needs {MANY} of them, named "
            f"for every reading; there are {many['gauge']} gauges (corrected readings count as "
            f"one's) and {many['operator']} operators",
        )
    levels = levels_of(cells)
    random = {name: list(levels[: place + 1]) for place, name in enumerate(levels)}
    return crossed_effects_fit(
        cells,
        response="mean",
        fixed=("family", *(name for name in factors if name not in drawn)),
        random={**random, **{name: [name] for name in drawn}},
    )


def _answer(
    name: Analyses,
    evidence: Evidence,
    factors: Sequence[str],
    means: tuple[np.ndarray, np.ndarray],
    seed: Sequence[int],
) -> Answer:
    if name == "permutation":
        return permute_blocks(*means, strata=gauge_of_blocks(evidence), seed=seed)
    if name == "ranks":
        from workbench.inference.ranks.mann_whitney import mann_whitney

        return mann_whitney(*means)
    if name == "relative_effect":
        from workbench.inference.ranks.relative_effect import shift_by_effect

        return shift_by_effect(*means)
    from workbench.inference.resampling.comparison import compare_bores, compare_means

    start = int(np.random.SeedSequence(list(seed)).generate_state(1)[0])
    if name == "bootstrap":
        return compare_means(*means, seed=start)
    return compare_bores(*_bores(evidence, factors), seed=start)


def _bores(evidence: Evidence, factors: Sequence[str]) -> tuple[list[np.ndarray], ...]:
    """Give each family's blocks as the means of their bores, on a common footing."""
    if "bore" not in levels_of(evidence.cells):
        raise does_not_fit("bores_bootstrap", "no bores are named to be drawn")
    grouped, _ = footing(evidence, factors)
    table = grouped.groups.assign(mean=grouped.means)
    return tuple(
        [mine["mean"].to_numpy() for _, mine in table[table["family"] == family].groupby("block")]
        for family in (evidence.candidate, evidence.reference)
    )


def _rough(ours: np.ndarray, others: np.ndarray) -> Difference:
    """Give Welch's analysis, or Student's where a family has one block, for digits and plans."""
    try:
        return welch(Summary.of(ours), Summary.of(others))
    except Refusal:
        from workbench.inference.means.pooled import pooled

        return pooled(ours, others)
