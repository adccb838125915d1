"""What a claim on the mean of families would be without each of its blocks in turn.

The analysis that decided is made again without a block, the shared error of measuring left as it
was: what all readings share hardly changes when one block goes. Which blocks could matter is told
by the block means: those without which the means, with a quarter more or less of error, would come
to another outcome, and those that move the difference most. The others are not fitted again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from workbench.claims.analysis import Analysis
from workbench.claims.claim import Claim
from workbench.claims.evidence import SEPARATOR
from workbench.claims.family_difference import common_model, family_difference, own_model
from workbench.claims.rules import Decision, Outcome, decide
from workbench.errors import Refusal
from workbench.inference.means.pooled import pooled
from workbench.inference.means.welch import Summary, welch
from workbench.inference.nested.influence import influence
from workbench.inference.nested.model import NestedModel
from workbench.inference.nested.unequal import UnequalModel
from workbench.inference.results import Difference

Means = Mapping[str, NDArray[np.float64]]

COMMON = ("common_spreads", "single_case")
ABOUT = (0.75, 1.0, 1.3)  # times its rough guess, a standard error from block means is as good
MOVING = 5  # blocks that are fitted again in any case


@dataclass(frozen=True, slots=True, kw_only=True)
class Spared:
    """The claim without one block: None, and the reason in words, where it cannot be judged."""

    family: str
    block: str
    estimate: float | None
    decision: Decision | None
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockByBlock:
    """A claim with all its `blocks`, `whole`, and without each of those that could matter."""

    blocks: int
    estimate: float
    whole: Decision
    without: tuple[Spared, ...]

    @property
    def deciding(self) -> tuple[Spared, ...]:
        """The blocks without which the outcome is another, or there is none."""
        return tuple(one for one in self.without if self.outcome_of(one) != self.whole.outcome)

    def outcome_of(self, one: Spared) -> Outcome:
        """Give the outcome without a block; a claim that cannot be judged is unresolved."""
        return one.decision.outcome if one.decision else "unresolved"

    def most(self, many: int) -> tuple[Spared, ...]:
        """Give the blocks that move the estimate most, and all that decide, the largest first."""
        deciding = set(self.deciding)
        ranked = sorted(self.without, key=lambda one: (one not in deciding, -told(self.shift(one))))
        return tuple(ranked[: max(many, len(deciding))])

    def shift(self, one: Spared) -> float:
        """Give how far the estimate lies from the whole without a block; 0 where there is none."""
        return 0.0 if one.estimate is None else abs(one.estimate - self.estimate)


def without_each_block(claim: Claim, analysis: Analysis, confidence: float) -> BlockByBlock:
    """Answer whether a verdict rests on any single block.

    Raises
    ------
    Refusal
        `analysis_does_not_fit` for a claim on the blocks measured: without one it is another claim.
    """
    if claim.scope != "family":
        raise Refusal(
            "analysis_does_not_fit",
            "The claim is on the very blocks measured; without one of them it is another claim.",
        )
    whole = _held(claim, analysis, analysis.readings_only, confidence)
    matter = _could_matter(claim, analysis, whole)
    return BlockByBlock(
        blocks=len(analysis.block_means),
        estimate=analysis.difference.estimate,
        whole=whole,
        without=tuple(
            Spared(
                family=block.split(SEPARATOR)[0],
                block=block.rpartition(SEPARATOR)[2],
                estimate=None if found is None else found.estimate,
                decision=None if found is None else _held(claim, analysis, found, confidence),
                reason=reason,
            )
            for block, found, reason in _differences(analysis, matter)
        ),
    )


def _could_matter(claim: Claim, analysis: Analysis, whole: Decision) -> set[str]:
    """Name the blocks without which the outcome might be another, and those that move most."""
    means = {family: analysis.means_of(family) for family in _pair(analysis)}
    try:
        rough = _rough(analysis, means)
    except Refusal:
        return set(analysis.block_means["block"])
    now, found, shifts = analysis.readings_only, set(), {}
    for block, left in _left(analysis, means):
        try:
            without = _rough(analysis, left)
        except Refusal:
            found.add(block)
            continue
        shift = without.estimate - rough.estimate
        error = now.standard_error * without.standard_error / rough.standard_error
        shifts[block] = abs(shift)
        for times in ABOUT:
            guess = replace(without, estimate=now.estimate + shift, standard_error=times * error)
            held = _held(claim, analysis, guess, whole.interval.confidence)
            if held.outcome != whole.outcome:
                found.add(block)
    return found | set(sorted(shifts, key=lambda block: -told(shifts[block]))[:MOVING])


def told(shift: float) -> float:
    """Give a shift without its last digits: blocks that move alike stand in their own order."""
    return float(f"{shift:.6g}")


def _pair(analysis: Analysis) -> tuple[str, str]:
    return analysis.evidence.candidate, analysis.evidence.reference


def _left(analysis: Analysis, means: Means) -> Iterator[tuple[str, Means]]:
    """Give each block with the block means of both families without it."""
    table = analysis.block_means
    for family, mine in means.items():
        names = table.loc[table["family"] == family, "block"].tolist()
        for place, block in enumerate(names):
            yield str(block), {**means, family: np.delete(mine, place)}


def _rough(analysis: Analysis, means: Means) -> Difference:
    """Compare the block means by Welch's or Student's analysis, whichever is nearer."""
    ours, others = (Summary.of(means[family]) for family in _pair(analysis))
    return (welch if analysis.own else pooled)(ours, others)


def fitted_model(analysis: Analysis) -> NestedModel | UnequalModel | None:
    """Fit the nested model of an analysis again; None where it has none, or no groups in it."""
    name = analysis.choice.name
    if name not in (*COMMON, "own_spreads"):
        return None
    make = common_model if name in COMMON else own_model
    model = make(analysis.evidence, analysis.factors)
    return model if model.group_names else None


def _differences(
    analysis: Analysis, matter: set[str]
) -> Iterator[tuple[str, Difference | None, str]]:
    """Give each block with the difference without it, or with the reason why there is none."""
    model = fitted_model(analysis)
    if model is None:
        yield from _of_means(analysis, matter)
        return
    for one in influence(model, "family", *_pair(analysis), only=matter, bounded=False).without:
        yield one.block, one.difference, one.reason


def _of_means(analysis: Analysis, matter: set[str]) -> Iterator[tuple[str, Difference | None, str]]:
    """Leave blocks out of an analysis of block means, which one reading a block is, too."""
    name = analysis.choice.name
    if name in (*COMMON, "own_spreads"):
        name = "welch" if analysis.own else "pooled"
    whole = {family: analysis.means_of(family) for family in analysis.spreads}
    for block, means in _left(analysis, whole):
        if block not in matter:
            continue
        cells = analysis.evidence.cells
        evidence = replace(analysis.evidence, cells=cells[cells["block"] != block])
        try:
            found = family_difference(evidence, analysis.factors, name, means)
            yield block, found.difference, ""
        except Refusal as refusal:
            yield block, None, str(refusal)


def _held(claim: Claim, analysis: Analysis, found: Difference, confidence: float) -> Decision:
    shared = analysis.shared
    return decide(
        found.widened(shared.uncertainty, shared.degrees_of_freedom),
        direction=claim.direction,
        margin=claim.margin,
        confidence=confidence,
    )
