"""What a difference would be without each block in turn.

A block's readings are taken out of the sums, not out of the table, and the search starts from the
variances of the whole: the cost is a few steps a block, however many readings there are.

References
----------
Christensen, R., Pearson, L. M. and Johnson, W. (1992). Case-deletion diagnostics for mixed models.
Technometrics 34, 38-45 (from memory); here each deletion is fitted again in full, not by one step.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from workbench.errors import Refusal
from workbench.inference.nested.cells import Cells, Codes, Floats
from workbench.inference.nested.columns import ALIASED, fitted_means, level_sums
from workbench.inference.nested.model import (
    NestedModel,
    assembled,
    require_converged,
    require_groups,
)
from workbench.inference.nested.products import NestedDesign
from workbench.inference.nested.reml import maximise
from workbench.inference.nested.result import NestedFit
from workbench.inference.nested.sums import NestedSums, check_sums
from workbench.inference.results import Difference, check_confidence

LEAST_START = 1e-3  # of the residual variance: a component at zero starts from here
FEWEST_GROUPS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class WithoutBlock:
    """The difference without one block; None, and the reason in words, where there is none."""

    block: str
    difference: Difference | None
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Influence:
    """A difference with all blocks, `whole`, and without each of them in turn."""

    whole: Difference
    without: tuple[WithoutBlock, ...]

    def deciding(self, margin: float = 0.0, confidence: float = 0.95) -> tuple[WithoutBlock, ...]:
        """Give the blocks without which the interval lies otherwise to `margin` than with them.

        Above it, below it or on both sides; a block without which there is no difference at all
        decides too.
        """
        check_confidence(confidence)
        side = _side(self.whole, margin, confidence)
        return tuple(
            one
            for one in self.without
            if one.difference is None or _side(one.difference, margin, confidence) != side
        )

    @property
    def largest(self) -> WithoutBlock | None:
        """The block that moves the estimate most; None where no block can be spared."""
        told = [one for one in self.without if one.difference is not None]
        return max(told, key=self._shift, default=None)

    def _shift(self, one: WithoutBlock) -> float:
        if one.difference is None:
            return 0.0
        return abs(one.difference.estimate - self.whole.estimate)


def influence(model: NestedModel, factor: str, candidate: str, reference: str) -> Influence:
    """Answer how far a difference hangs on any single block.

    Parameters
    ----------
    model : NestedModel
        As `nested_model` gives it.
    factor, candidate, reference : str
        As for `NestedFit.contrast`; Kenward-Roger.

    Returns
    -------
    Influence
        The outermost groups in the order of `model.labels`. What cannot be fitted without a block
        (it is the only one of its family) has no difference and says why.

    Raises
    ------
    Refusal
        `no_groups`, `not_converged`, and what the contrast itself refuses.
    """
    require_groups(model)
    require_converged(model)
    whole = model.fit.contrast(factor, candidate, reference)
    labels = model.labels(model.nesting[0])[model.nesting[0]]
    found = []
    for label, sums in zip(labels, _sums_without(model), strict=True):
        try:
            fit = model.without(label).fit if sums is None else _refitted(model, sums)
            answer = fit.contrast(factor, candidate, reference)
            found.append(WithoutBlock(block=label, difference=answer))
        except Refusal as refusal:
            found.append(WithoutBlock(block=label, difference=None, reason=str(refusal)))
    return Influence(whole=whole, without=tuple(found))


def _side(difference: Difference, margin: float, confidence: float) -> int:
    interval = difference.interval(confidence)
    return int(interval.low > margin) - int(interval.high < margin)


def _refitted(model: NestedModel, sums: NestedSums) -> NestedFit:
    check_sums(sums)
    start = model.maximum.at.theta
    design = NestedDesign(sums=sums)
    return assembled(
        model.cells,
        model.columns,
        design,
        maximise(design, start=np.maximum(start, LEAST_START * start[0])),
        removed=sums.removed,
        order=(*model.nesting, "residual"),
        counts=sums.counts,
        merged=sums.merged,
    )


def _sums_without(model: NestedModel) -> Iterator[NestedSums | None]:
    """Take each outer group out of the sums; None where the design is then another."""
    sums = model.sums
    outer, inner = model.cells.groups[0], _inner(model)
    count = int(outer.max()) + 1
    bounds = np.append(np.arange(count) if sums.starts is None else sums.starts, len(sums.n))
    within = _within(model.cells, model, outer, inner, count)
    readings = np.bincount(outer, model.cells.n, count)
    whole = np.diag(_gram(sums))
    for block in range(count):
        low, high = int(bounds[block]), int(bounds[block + 1])
        kept = np.r_[0:low, high : len(sums.n)]
        starts = None
        if sums.starts is not None:
            after = sums.starts[block + 1 :] - (high - low)
            starts = np.append(sums.starts[:block], after)
        left = replace(
            sums,
            within=sums.within - within[block],
            deviations=sums.deviations - float(readings[block] - (high - low)),
            means=sums.means[kept],
            n=sums.n[kept],
            starts=starts,
            counts={
                **sums.counts,
                model.nesting[0]: count - 1,
                "reading": sums.counts["reading"] - round(readings[block]),
            },
        )
        yield left if _same_design(left, whole) else None


def _same_design(sums: NestedSums, whole: Floats) -> bool:
    """Tell whether the columns and levels of the whole are those of what is left."""
    n, starts = sums.n, sums.starts
    if not len(n) or n.max() < FEWEST_GROUPS or (starts is not None and len(starts) == len(n)):
        return False
    gram = _gram(sums)
    squares = np.diag(gram)
    if not (squares > ALIASED * whole).all():
        return False
    scale = np.sqrt(squares)
    alike = gram / np.outer(scale, scale)
    return bool(np.linalg.eigvalsh(alike)[0] >= ALIASED * len(alike))


def _gram(sums: NestedSums) -> Floats:
    x = sums.means[:, :-1]
    gram: Floats = sums.within[:-1, :-1] + x.T @ x
    return gram


def _inner(model: NestedModel) -> Codes:
    return model.cells.groups[model.nesting.index(model.group_names[-1])]


def _within(cells: Cells, model: NestedModel, outer: Codes, inner: Codes, count: int) -> Floats:
    """Give the part of each outer group in the cross-products within inner groups."""
    sums, kept = model.sums, model.columns.kept
    wide = len(kept) + 1
    parts = np.zeros((count, wide, wide))
    parts[:, :-1, :-1] = _grams(cells, outer, count)[np.ix_(np.arange(count), kept, kept)]
    x = sums.means[:, :-1]
    squares = np.einsum("ji,jk->jik", x, x)
    parts[:, :-1, :-1] -= (
        squares if sums.starts is None else np.add.reduceat(squares, sums.starts, axis=0)
    )
    left = cells.mean - fitted_means(cells, model.columns, sums.removed)
    apart = left - (np.bincount(inner, cells.n * left) / sums.n)[inner]
    xy = level_sums(cells, outer, count, cells.n * apart)[:, kept]
    parts[:, :-1, -1] = parts[:, -1, :-1] = xy
    parts[:, -1, -1] = np.bincount(outer, cells.ss + cells.n * apart**2, count)
    constant = np.flatnonzero(np.diag(sums.within)[:-1] == 0)
    parts[:, constant, :] = 0.0  # exactly, as in the whole
    parts[:, :, constant] = 0.0
    return parts


def _grams(cells: Cells, outer: Codes, count: int) -> Floats:
    """Give X'WX of all fixed columns for each outer group, by counting."""
    factors: list[tuple[Codes, int, int]] = [(np.zeros(len(cells.n), dtype=np.int64), 1, 0)]
    for codes, levels in zip(cells.level_codes, cells.levels.values(), strict=True):
        factors.append((codes, len(levels), 1))
    rows = []
    for first, many, skip in factors:
        row = []
        for second, more, skip_more in factors:
            code = (outer * many + first) * more + second
            table = np.bincount(code, cells.n, count * many * more).reshape(count, many, more)
            row.append(table[:, skip:, skip_more:])
        rows.append(np.concatenate(row, axis=2))
    return np.concatenate(rows, axis=1)
