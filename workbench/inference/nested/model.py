"""A nested model with the sums it was fitted from, for all that is asked of it after the fit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import pandas as pd

from workbench.errors import Refusal
from workbench.inference.nested.cells import Cells, Floats, code_cells
from workbench.inference.nested.columns import Columns, code_columns
from workbench.inference.nested.kenward_roger import (
    adjusted_covariance,
    covariance_slopes,
    inverse_information,
)
from workbench.inference.nested.likelihood import Design
from workbench.inference.nested.products import NestedDesign
from workbench.inference.nested.reml import Maximum, maximise
from workbench.inference.nested.result import NestedFit
from workbench.inference.nested.sums import NestedSums, nested_sums


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NestedModel:
    """A fitted nested model, `fit`, together with what it was fitted from.

    `table` is the table of readings or cells itself, not a copy.
    """

    table: pd.DataFrame
    response: str
    fixed: tuple[str, ...]
    nesting: tuple[str, ...]
    cells: Cells
    columns: Columns
    sums: NestedSums
    maximum: Maximum
    fit: NestedFit

    @property
    def design(self) -> NestedDesign:
        """The sums as the likelihood asks them."""
        return NestedDesign(sums=self.sums)

    @property
    def group_names(self) -> tuple[str, ...]:
        """The nesting levels that have a component of their own, outermost first."""
        return tuple(reversed(self.sums.components[1:]))

    def labels(self, name: str) -> pd.DataFrame:
        """Give one row a group of the nesting level `name`: its label and those around it."""
        return group_labels(self.table, self.nesting, self.cells, name)

    def without(self, outer: str, *, bounded: bool = True) -> NestedModel:
        """Fit again from the table, without the outermost group labelled `outer`."""
        column = self.table[self.nesting[0]].astype(str)
        return nested_model(
            self.table[(column != outer).to_numpy()],
            response=self.response,
            fixed=self.fixed,
            nesting=self.nesting,
            bounded=bounded,
        )


def nested_model(
    data: pd.DataFrame,
    *,
    response: str,
    fixed: Sequence[str],
    nesting: Sequence[str],
    bounded: bool = True,
) -> NestedModel:
    """Fit the nested model and keep what it was fitted from; arguments as for `nested_fit`.

    Not `bounded`, the variance of groups may come out below zero. That is no variance of anything,
    but a contrast judged by it keeps its level: held at zero, the fit overstates how groups differ
    as often as it would have understated it, and the test makes too few false alarms (Stroup and
    Littell 2002, Conference on Applied Statistics in Agriculture, Kansas State University; from
    memory). For balanced families it is the classical test of group means.
    """
    cells = code_cells(data, response=response, fixed=fixed, nesting=nesting)
    columns = code_columns(cells)
    sums = nested_sums(cells, columns, nesting)
    design = NestedDesign(sums=sums)
    maximum = maximise(design, bounded=bounded)
    fit = assembled(
        cells,
        columns,
        design,
        maximum,
        removed=sums.removed,
        order=(*nesting, "residual"),
        counts=sums.counts,
        merged=sums.merged,
    )
    return NestedModel(
        table=data,
        response=response,
        fixed=tuple(fixed),
        nesting=tuple(nesting),
        cells=cells,
        columns=columns,
        sums=sums,
        maximum=maximum,
        fit=fit,
    )


def assembled(
    cells: Cells,
    columns: Columns,
    design: Design,
    maximum: Maximum,
    *,
    removed: Floats,
    order: Sequence[str],
    counts: Mapping[str, int],
    merged: tuple[str, ...] = (),
    model: str = "nested model",
) -> NestedFit:
    """Bring the maximum back to the unit of the response, with all that contrasts need.

    `order` is that of the components in the answer; those that were not fitted are left out.
    """
    at, scale = maximum.at, cells.scale
    free = at.theta != 0
    everywhere = np.ones_like(free)
    of_all = inverse_information(at.expected, everywhere)
    variances = dict(zip(design.components, (at.theta * scale**2).tolist(), strict=True))
    coefficients = (at.coefficients + removed) * scale
    coefficients[0] += cells.centre  # the intercept is always kept, and first
    return NestedFit(
        variance_components={name: variances[name] for name in order if name in variances},
        boundary=tuple(name for name in order if variances.get(name, 1.0) <= 0),
        merged=merged,
        aliased=columns.aliased,
        counts=dict(counts),
        reml_criterion=at.criterion + 2 * (design.readings - design.fixed) * math.log(scale),
        converged=maximum.converged,
        steps=maximum.steps,
        levels=cells.levels,
        columns=columns.names,
        kept=columns.kept,
        ties=columns.ties,
        coefficients=coefficients,
        covariance=at.covariance * scale**2,
        adjusted=adjusted_covariance(at, of_all) * scale**2,
        slopes=covariance_slopes(at),
        component_covariances={
            "all": of_all * scale**4,
            "expected": inverse_information(at.expected, free) * scale**4,
            "observed": inverse_information(at.observed, free) * scale**4,
        },
        model=model,
    )


def group_labels(
    table: pd.DataFrame, nesting: Sequence[str], cells: Cells, name: str
) -> pd.DataFrame:
    """Give one row a group of the nesting level `name`: its label and those around it."""
    level = list(nesting).index(name)
    found: pd.DataFrame = table[list(nesting[: level + 1])].iloc[cells.group_rows[level]]
    return found.astype(str).reset_index(drop=True)


class Grouped(Protocol):
    """A fitted model whose groups can be asked about: nested, or with spreads by family."""

    @property
    def group_names(self) -> tuple[str, ...]:
        """The nesting levels that have a component of their own, outermost first."""
        ...

    @property
    def fit(self) -> NestedFit:
        """What the fit found."""
        ...


def require_groups(model: Grouped) -> None:
    """Refuse a model without groups where groups are asked about."""
    if not model.group_names:
        raise Refusal(
            "no_groups",
            "The model has no groups with a spread of their own, so none can be asked about.",
        )


def require_converged(model: Grouped) -> None:
    """Refuse a model whose likelihood reached no maximum."""
    if not model.fit.converged:
        raise Refusal(
            "not_converged", f"The fit reached no maximum in {model.fit.steps} steps; no answer."
        )
