"""Residual checks of a nested model: which blocks, bores and cells stand out, and are they normal.

Each predicted effect is divided by its own standard deviation (not that of its error), so that
under the model all are near standard normal, however unevenly the blocks were read.

References
----------
Pinheiro, J. C. and Bates, D. M. (2000). Mixed-Effects Models in S and S-PLUS, section 4.3.
Lange, N. and Ryan, L. (1989). Assessing normality in random effects models. Annals of Statistics
17, 624-642. Shapiro, S. S. and Wilk, M. B. (1965). Biometrika 52, 591-611. All from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.errors import Refusal
from workbench.inference.nested.cells import Floats
from workbench.inference.nested.columns import fitted_means, laid_out
from workbench.inference.nested.groups import inner_products, outer_products
from workbench.inference.nested.model import NestedModel, require_converged, require_groups

FEWEST, MOST = 3, 5_000  # values a Shapiro-Wilk p is given for


@dataclass(frozen=True, slots=True, kw_only=True)
class Normality:
    """How standardised effects compare with standard normal ones.

    `largest` is the standardised effect furthest from 0 and `largest_p` the chance of one as far
    among so many (Bonferroni). `shapiro_p` takes them for independent, which few effects of one
    fit are not quite; it is NaN outside 3 to 5000 values. Few values never show much.
    """

    n: int
    skewness: float
    excess_kurtosis: float
    largest: float
    largest_p: float
    shapiro_w: float
    shapiro_p: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Effects:
    """The predicted effects of one level: `labels` has one row an effect.

    `effect` is in the unit of the response, drawn towards 0; `standardised` has no unit and is 0
    where the fixed factors leave nothing of the effect to be seen (`told` is False).
    """

    level: str
    labels: pd.DataFrame
    effect: Floats
    standardised: Floats
    told: np.ndarray

    def normality(self) -> Normality:
        """Compare the standardised effects with standard normal values."""
        return normality(self.standardised[self.told])

    def outstanding(self, level: float = 0.05) -> pd.DataFrame:
        """Give the rows of effects too far out for so many, with their standardised effect."""
        from scipy.special import ndtri

        bound = -ndtri(level / 2 / max(int(self.told.sum()), 1))
        far = np.abs(self.standardised) > bound
        found: pd.DataFrame = self.labels[far].assign(standardised=self.standardised[far])
        return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ResidualChecks:
    """The effects of each level, outermost first, and last what is left in the cells."""

    levels: tuple[Effects, ...]

    def of(self, level: str) -> Effects:
        """Give the effects of one level; "residual" are the cells."""
        for effects in self.levels:
            if effects.level == level:
                return effects
        names = ", ".join(effects.level for effects in self.levels)
        raise Refusal("unknown_level", f"The levels are {names}; not {level!r}.")


def residual_checks(model: NestedModel) -> ResidualChecks:
    """Answer whether blocks, bores and cells scatter as the model says.

    Parameters
    ----------
    model : NestedModel
        As `nested_model` gives it.

    Returns
    -------
    ResidualChecks
        One `Effects` for each level of nesting with a component of its own, and for the cells
        (readings alike in all fixed levels and groups).

    Raises
    ------
    Refusal
        `no_groups`, `not_converged`.
    """
    require_groups(model)
    require_converged(model)
    at, sums, scale = model.maximum.at, model.sums, model.cells.scale
    found = []
    for place, name in enumerate(model.group_names):
        outer = place == 0
        products = outer_products(sums, at) if outer else inner_products(sums, at)
        component = at.theta[-1] if outer else at.theta[1]
        found.append(
            Effects(
                level=name,
                labels=model.labels(name),
                effect=float(component) * products.along * scale,
                standardised=products.standardised,
                told=products.told,
            )
        )
    return ResidualChecks(levels=(*found, _of_cells(model)))


def normality(values: Floats) -> Normality:
    """Compare values that should be standard normal with that.

    Raises
    ------
    Refusal
        `too_few` below three values.
    """
    n = len(values)
    if n < FEWEST:
        raise Refusal("too_few", f"{n} effects show no shape; at least {FEWEST} are needed.")
    from scipy.special import ndtr
    from scipy.stats import shapiro

    apart = values - values.mean()
    second = float((apart**2).mean())
    largest = float(values[np.argmax(np.abs(values))])
    told = FEWEST <= n <= MOST and second > 0
    w, p = shapiro(values) if told else (math.nan, math.nan)
    return Normality(
        n=n,
        skewness=float((apart**3).mean()) / second**1.5 if second > 0 else math.nan,
        excess_kurtosis=float((apart**4).mean()) / second**2 - 3 if second > 0 else math.nan,
        largest=largest,
        largest_p=min(1.0, float(2 * n * ndtr(-abs(largest)))),
        shapiro_w=float(w),
        shapiro_p=float(p),
    )


def _of_cells(model: NestedModel) -> Effects:
    """Give what is left of each cell's mean once the fixed columns and its groups are taken out.

    In a group of n_j readings, W parts into 1 / s2 about the group's mean and the group's own W.
    """
    at, sums, cells = model.maximum.at, model.sums, model.cells
    inner = cells.groups[model.nesting.index(model.group_names[-1])]
    s2, root = float(at.theta[0]), np.sqrt(cells.n)
    groups = inner_products(sums, at)
    x = laid_out(cells, model.columns)
    share = cells.n / sums.n[inner]
    weighted = cells.n[:, None] * x
    means = (
        np.column_stack([np.bincount(inner, column, len(sums.n)) for column in weighted.T])
        / np.array(sums.n)[:, None]
    )
    wx = root[:, None] * (x - means[inner]) / s2
    wx += (root / sums.n[inner])[:, None] * groups.fixed[inner]
    own = (1 - share) / s2 + share / sums.n[inner] * groups.own[inner]
    free = own - np.einsum("ci,ij,cj->c", wx, at.covariance, wx)
    left = cells.mean - fitted_means(cells, model.columns, sums.removed + at.coefficients)
    level = np.bincount(inner, cells.n * left, len(sums.n)) / sums.n
    along = root * (left - level[inner]) / s2 + root / sums.n[inner] * groups.along[inner]
    told = free > 1e-9 * own
    standardised = np.divide(
        along, np.sqrt(np.maximum(free, 0)), out=np.zeros_like(along), where=told
    )
    return Effects(
        level="residual",
        labels=_cell_labels(model),
        effect=s2 * along / root * cells.scale,
        standardised=standardised,
        told=told,
    )


def _cell_labels(model: NestedModel) -> pd.DataFrame:
    cells = model.cells
    named = {
        factor: np.array(levels)[codes]
        for codes, (factor, levels) in zip(cells.level_codes, cells.levels.items(), strict=True)
    }
    for name, codes in zip(model.nesting, cells.groups, strict=True):
        named[name] = model.labels(name)[name].to_numpy()[codes]
    return pd.DataFrame(named)
