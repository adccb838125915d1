"""What a difference would be without each block in turn.

A block's readings are taken out of the sums, not out of the table, and the search starts from the
variances of the whole: the cost is a few steps a block, however many readings there are.

References
----------
Christensen, R., Pearson, L. M. and Johnson, W. (1992). Case-deletion diagnostics for mixed models.
Technometrics 34, 38-45 (from memory); here each deletion is fitted again in full, not by one step.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from workbench.errors import Refusal
from workbench.inference.nested.cells import Cells, Codes, Floats
from workbench.inference.nested.columns import ALIASED, Columns, fitted_means, level_sums
from workbench.inference.nested.likelihood import Design
from workbench.inference.nested.model import (
    NestedModel,
    assembled,
    require_converged,
    require_groups,
)
from workbench.inference.nested.products import NestedDesign
from workbench.inference.nested.reml import NEARLY, Maximum, maximise
from workbench.inference.nested.result import NestedFit
from workbench.inference.nested.sums import NestedSums, check_residual_spread, check_sums
from workbench.inference.nested.unequal import (
    UnequalDesign,
    UnequalModel,
    cells_of_family,
    unequal_fit,
)
from workbench.inference.results import Difference, check_confidence

Refit = Callable[[], NestedFit]
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


def influence(
    model: NestedModel | UnequalModel,
    factor: str,
    candidate: str,
    reference: str,
    *,
    only: Collection[str] | None = None,
    bounded: bool = True,
) -> Influence:
    """Answer how far a difference hangs on any single block.

    Parameters
    ----------
    model : NestedModel or UnequalModel
        As `nested_model` or `unequal_model` gives it.
    factor, candidate, reference : str
        As for `NestedFit.contrast`; Kenward-Roger.
    only : collection of str, optional
        The blocks to leave out in turn; all of them where it is left out.
    bounded : bool
        Whether variances are held at zero without a block, too. Not `bounded`, one that is held
        there is let go below it, as far as it will (see `nested_model`).

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
    refits = (
        _common_refits(model, bounded)
        if isinstance(model, NestedModel)
        else _own_refits(model, bounded)
    )
    found = []
    for label, refit in zip(labels, refits, strict=True):
        if only is not None and label not in only:
            continue
        try:
            fit = _from_table(model, label, bounded) if refit is None else refit()
            answer = fit.contrast(factor, candidate, reference)
            found.append(WithoutBlock(block=label, difference=answer))
        except Refusal as refusal:
            found.append(WithoutBlock(block=label, difference=None, reason=str(refusal)))
    return Influence(whole=whole, without=tuple(found))


def _side(difference: Difference, margin: float, confidence: float) -> int:
    interval = difference.interval(confidence)
    return int(interval.low > margin) - int(interval.high < margin)


def _from_table(model: NestedModel | UnequalModel, block: str, bounded: bool) -> NestedFit:
    held = model.without(block).fit
    if bounded or not held.boundary:
        return held
    try:
        free = model.without(block, bounded=False).fit
    except Refusal:
        return held
    return free if free.converged else held


def _maximum(design: Design, whole: Maximum, bounded: bool) -> Maximum:
    """Search from the variances of the whole, none so near zero that it could not leave it."""
    theta = whole.at.theta
    least = LEAST_START * float(theta[list(design.residuals)].min())
    held = maximise(design, start=np.maximum(theta, least), reached=NEARLY)
    if bounded or (held.at.theta > 0).all():
        return held
    try:
        free = maximise(design, bounded=False)
    except Refusal:
        return held
    return free if free.converged else held


def _common_refits(model: NestedModel, bounded: bool) -> Iterator[Refit | None]:
    """Fit again without each outer group; None where the design is then another."""
    for left in _sums_without(model.cells, model.columns, model.nesting, model.sums):
        yield None if left is None else partial(_common_refit, model, left, bounded)


def _common_refit(model: NestedModel, sums: NestedSums, bounded: bool) -> NestedFit:
    check_sums(sums)
    design = NestedDesign(sums=sums)
    return assembled(
        model.cells,
        model.columns,
        design,
        _maximum(design, model.maximum, bounded),
        removed=sums.removed,
        order=(*model.nesting, "residual"),
        counts=sums.counts,
        merged=sums.merged,
    )


def _own_refits(model: UnequalModel, bounded: bool) -> Iterator[Refit | None]:
    """Fit again without each outer group, whose family alone has other sums then.

    None where the design is then another, for the family or for all of them together, and where
    the families are not told apart by the same levels.
    """
    parts, cells, columns = model.design.parts, model.cells, model.columns
    of_group = np.zeros(model.equal_sums.counts[model.nesting[0]], dtype=np.int64)
    of_group[cells.groups[0]] = cells.level_codes[0]
    if any(part.components != model.equal_sums.components for part in parts):
        yield from (None for _ in of_group)
        return
    within = [
        _sums_without(cells_of_family(cells, family), columns, model.nesting, part, alone=True)
        for family, part in enumerate(parts)
    ]
    together = _sums_without(cells, columns, model.nesting, model.equal_sums)
    for family, whole in zip(of_group.tolist(), together, strict=True):
        left = next(within[family])
        if whole is None or left is None or left.counts[model.nesting[0]] < FEWEST_GROUPS:
            yield None
            continue
        own = replace(model.design, parts=(*parts[:family], left, *parts[family + 1 :]))
        yield partial(_own_refit, model, whole, own, bounded)


def _own_refit(
    model: UnequalModel, whole: NestedSums, design: UnequalDesign, bounded: bool
) -> NestedFit:
    check_sums(whole)
    for part in design.parts:
        check_residual_spread(part)
    maximum = _maximum(design, model.maximum, bounded)
    return unequal_fit(
        model.cells, model.columns, design, maximum, counts=whole.counts, by=model.by
    )


def _sums_without(
    cells: Cells, columns: Columns, nesting: Sequence[str], sums: NestedSums, *, alone: bool = False
) -> Iterator[NestedSums | None]:
    """Take each outer group out of the sums; None where the design is then another.

    `alone` tells that they are a part of others, which see to it that all columns can be told.
    """
    outer, inner = cells.groups[0], cells.groups[list(nesting).index(sums.components[1])]
    count = int(outer.max()) + 1
    bounds = np.append(np.arange(count) if sums.starts is None else sums.starts, len(sums.n))
    within = _within(cells, columns, sums, outer, inner, count)
    readings = np.bincount(outer, cells.n, count)
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
                nesting[0]: count - 1,
                "reading": sums.counts["reading"] - round(readings[block]),
            },
        )
        same = _same_levels(left) and (alone or _same_columns(left, whole))
        yield left if same else None


def _same_levels(sums: NestedSums) -> bool:
    """Tell whether the levels of the whole can be told apart in what is left."""
    n, starts = sums.n, sums.starts
    return bool(len(n) and n.max() >= FEWEST_GROUPS and (starts is None or len(starts) < len(n)))


def _same_columns(sums: NestedSums, whole: Floats) -> bool:
    """Tell whether the columns of the whole are those of what is left."""
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


def _within(
    cells: Cells, columns: Columns, sums: NestedSums, outer: Codes, inner: Codes, count: int
) -> Floats:
    """Give the part of each outer group in the cross-products within inner groups."""
    kept = columns.kept
    wide = len(kept) + 1
    parts = np.zeros((count, wide, wide))
    parts[:, :-1, :-1] = _grams(cells, outer, count)[np.ix_(np.arange(count), kept, kept)]
    x = sums.means[:, :-1]
    squares = np.einsum("ji,jk->jik", x, x)
    parts[:, :-1, :-1] -= (
        squares if sums.starts is None else np.add.reduceat(squares, sums.starts, axis=0)
    )
    left = cells.mean - fitted_means(cells, columns, sums.removed)
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
