"""A fitted nested model, and the differences it can be asked for."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from workbench.errors import Refusal
from workbench.inference.nested.cells import Codes, Floats
from workbench.inference.nested.kenward_roger import degrees_of_freedom
from workbench.inference.results import Difference

Method = Literal["kenward-roger", "satterthwaite"]
Information = Literal["expected", "observed"]
METHODS = ("kenward-roger", "satterthwaite")
INFORMATION = ("expected", "observed")
ESTIMABLE = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedEffect:
    """One fixed column: its estimate and the model's standard error, in the response's unit."""

    name: str
    estimate: float
    standard_error: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NestedFit:
    """A fitted nested model; ask it for a `contrast`.

    Attributes
    ----------
    variance_components : dict
        Variance by nesting level, outermost first, and "residual"; unit of the response, squared.
        Below zero only where the fit was not held to what a variance can be.
    boundary : tuple of str
        The components whose estimate is zero or below.
    merged : tuple of str
        The nesting levels left out because every group held one reading, or was alone in its outer
        group: their spread is part of the next component.
    aliased : tuple of str
        The fixed columns that add nothing to the ones before them, left out.
    counts : dict
        Groups by nesting level, and "reading".
    reml_criterion : float
        Minus twice the logarithm of the restricted likelihood, constants included.
    converged : bool
        Whether the maximum was reached; a fit that did not reach it gives no contrast.
    levels : dict
        The levels of each fixed factor; the first is the one the columns compare with.
    columns : tuple of str
        The fixed columns: "intercept", then "factor=level".
    """

    variance_components: dict[str, float]
    boundary: tuple[str, ...]
    merged: tuple[str, ...]
    aliased: tuple[str, ...]
    counts: dict[str, int]
    reml_criterion: float
    converged: bool
    steps: int
    levels: dict[str, tuple[str, ...]]
    columns: tuple[str, ...]
    kept: Codes
    ties: Floats
    coefficients: Floats
    covariance: Floats
    adjusted: Floats
    slopes: Floats
    component_covariances: dict[str, Floats]
    model: str = "nested model"

    @property
    def standard_deviations(self) -> dict[str, float]:
        """The roots of the variance components, in the unit of the response; 0 below zero."""
        return {
            name: math.sqrt(max(value, 0.0)) for name, value in self.variance_components.items()
        }

    @property
    def fixed_effects(self) -> tuple[FixedEffect, ...]:
        """The fixed columns with their estimates, aliased ones left out."""
        return tuple(
            FixedEffect(name=self.columns[column], estimate=float(estimate), standard_error=error)
            for column, estimate, error in zip(
                self.kept.tolist(),
                self.coefficients,
                np.sqrt(np.diag(self.covariance)).tolist(),
                strict=True,
            )
        )

    def contrast(
        self,
        factor: str,
        candidate: str,
        reference: str,
        method: Method = "kenward-roger",
        information: Information = "expected",
    ) -> Difference:
        """Give candidate minus reference of one fixed factor, the other factors held alike.

        Parameters
        ----------
        factor, candidate, reference : str
            A fixed factor and two of its levels.
        method : {"kenward-roger", "satterthwaite"}
            Kenward-Roger counts the estimation of the variances into the standard error, and keeps
            components estimated at zero in its degrees of freedom; Satterthwaite does neither.
        information : {"expected", "observed"}
            The information matrix behind Satterthwaite's degrees of freedom.

        Raises
        ------
        Refusal
            An unknown factor or level, or a difference the readings cannot tell.
        """
        if factor not in self.levels:
            raise Refusal(
                "unknown_factor",
                f"{factor!r} is no fixed factor of this fit; it has {_listed(self.levels)}.",
            )
        weights = {}
        for level, weight in ((candidate, 1.0), (reference, -1.0)):
            if level not in self.levels[factor]:
                raise Refusal(
                    "unknown_level",
                    f"Factor {factor!r} has no level {level!r}; "
                    f"it has {_listed(self.levels[factor])}.",
                )
            if level != self.levels[factor][0]:
                weights[f"{factor}={level}"] = weight
        if candidate == reference:
            raise Refusal("same_level", f"{candidate!r} cannot be compared with itself.")
        return self.combination(weights, method, information)

    def combination(
        self,
        weights: Mapping[str, float] | Sequence[float] | Floats,
        method: Method = "kenward-roger",
        information: Information = "expected",
    ) -> Difference:
        """Give a weighted sum of the fixed columns, by name or in the order of `columns`.

        Raises
        ------
        Refusal
            Weights that do not fit the columns, or a sum the readings cannot tell.
        """
        _check_choice("method", method, METHODS)
        _check_choice("information", information, INFORMATION)
        row = self.row(weights)
        if not self.converged:
            raise Refusal(
                "not_converged", f"The fit reached no maximum in {self.steps} steps; no answer."
            )
        variance = float(row @ self.covariance @ row)
        slopes = np.einsum("i,rij,j->r", row, self.slopes, row)
        if method == "kenward-roger":
            reported, known, name = float(row @ self.adjusted @ row), "all", "Kenward-Roger"
        else:
            reported, known = variance, information
            name = f"Satterthwaite ({information} information)"
        return Difference(
            estimate=float(row @ self.coefficients),
            standard_error=math.sqrt(max(reported, 0.0)),  # zero is refused there
            degrees_of_freedom=degrees_of_freedom(
                variance, slopes, self.component_covariances[known]
            ),
            method=f"{self.model}, {name}",
        )

    def row(self, weights: Mapping[str, float] | Sequence[float] | Floats) -> Floats:
        """Give the weights of the kept columns, refusing a sum the readings cannot tell."""
        full = np.zeros(len(self.columns))
        if isinstance(weights, Mapping):
            for name, weight in weights.items():
                if name not in self.columns:
                    raise Refusal(
                        "unknown_column",
                        f"The fit has no column {name!r}; it has {_listed(self.columns)}.",
                    )
                full[self.columns.index(name)] = weight
        elif len(weights) == len(full):
            full[:] = weights
        else:
            raise Refusal(
                "bad_weights", f"{len(weights)} weights were given for {len(full)} columns."
            )
        if not (np.isfinite(full).all() and full.any()):
            raise Refusal("bad_weights", "Weights must be finite, and one of them not zero.")
        if (np.abs(self.ties @ full) > ESTIMABLE * np.abs(full).max()).any():
            raise Refusal(
                "not_estimable",
                "The readings cannot tell this difference from that of other fixed factors: "
                f"{_listed(self.aliased)} always comes together with them.",
            )
        return full[self.kept]


def _check_choice(name: str, value: str, choices: tuple[str, ...]) -> None:
    if value not in choices:
        raise Refusal("bad_choice", f"{name} is one of {', '.join(choices)}, not {value!r}.")


def _listed(names: Sequence[str] | Mapping[str, object]) -> str:
    return ", ".join(repr(name) for name in names) or "none"
