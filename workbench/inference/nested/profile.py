"""The profile of a likelihood: its best where a component, a ratio or a share is held at a value.

To hold one of them leaves a model that is linear in fewer variances, all zero or above, so that the
same search finds its maximum.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.special import chdtri

from workbench.errors import Refusal
from workbench.inference.nested.cells import Cells, Floats
from workbench.inference.nested.likelihood import Design, Products, likelihood
from workbench.inference.nested.profile_ends import back, forth
from workbench.inference.nested.reml import NEARLY, Maximum, maximise
from workbench.inference.results import check_confidence
from workbench.inference.roots import root_between

FURTHEST = 1e24  # times the estimate, beyond which an upper end is called infinite
LEAST = 1e-3  # of the largest variance: where a search of the others starts at least
PRECISION = 1e-8
NEXT_TO_NOTHING = -7.0  # as a logarithm

Holding = Callable[[float], tuple[Floats, Floats]]


class Fitted(Protocol):
    """A model fitted by maximum likelihood: nested, or with spreads by family."""

    @property
    def cells(self) -> Cells:
        """The cells, for their scale."""
        ...

    @property
    def design(self) -> Design:
        """The design the likelihood asks."""
        ...

    @property
    def maximum(self) -> Maximum:
        """The maximum of the restricted likelihood."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldDesign:
    """A design in fewer variances: those of `design` are `base + matrix @ theta`."""

    design: Design
    base: Floats
    matrix: Floats

    @property
    def components(self) -> tuple[str, ...]:
        """The names of the variances left."""
        names = self.design.components
        return tuple(names[int(column.argmax())] for column in self.matrix.T)

    @property
    def residuals(self) -> tuple[int, ...]:
        """Those variances that alone keep a residual variance above zero."""
        found = []
        for place in self.design.residuals:
            feeding = np.flatnonzero(self.matrix[place])
            if self.base[place] == 0 and len(feeding) == 1:
                found.append(int(feeding[0]))
        return tuple(dict.fromkeys(found))

    @property
    def readings(self) -> float:
        """The number of readings."""
        return self.design.readings

    @property
    def fixed(self) -> int:
        """The number of fixed columns."""
        return self.design.fixed

    def start(self) -> Floats:
        """Give variances to start from."""
        return np.ones(self.matrix.shape[1])

    def products(self, theta: Floats) -> Products:
        """Give the products of the whole, brought down to the variances left."""
        full = self.base + self.matrix @ theta
        if (full[list(self.design.residuals)] <= 0).any():
            raise np.linalg.LinAlgError
        own, to = self.design.products(full), self.matrix
        return Products(
            zero=own.zero,
            one=np.einsum("rc,rij->cij", to, own.one),
            two=np.einsum("rc,sd,rsij->cdij", to, to, own.two),
            trace_one=to.T @ own.trace_one,
            trace_two=to.T @ own.trace_two @ to,
            log_determinant=own.log_determinant,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """How far the likelihood lies above its bound where something is held at a value."""

    design: Design
    theta: Floats
    bound: float
    restricted: bool
    confidence: float

    @classmethod
    def of(cls, model: Fitted, restricted: bool, confidence: float) -> Profile:
        """Set the bound below the maximum of the restricted, or the full, likelihood."""
        check_confidence(confidence)
        design, best = model.design, model.maximum
        if not restricted:
            best = maximise(design, restricted=False, start=np.maximum(best.at.theta, _least(best)))
        if not best.converged:
            raise Refusal("not_converged", "The fit reached no maximum; no interval.")
        return cls(
            design=design,
            theta=best.at.theta,
            bound=best.at.criterion + float(chdtri(1, 1 - confidence)),
            restricted=restricted,
            confidence=confidence,
        )

    @property
    def least(self) -> float:
        """How far the maximum lies under the bound, as a number below zero."""
        return -float(chdtri(1, 1 - self.confidence))

    def at(self, base: Floats, matrix: Floats) -> float:
        """Give the criterion, the variances of `matrix` at their best, less the bound."""
        return self._held(base, matrix, None)[0]

    def _held(
        self, base: Floats, matrix: Floats, near: Floats | None
    ) -> tuple[float, Floats | None]:
        """Give what `at` does, and the best variances, searched from `near` where that is given."""
        held = HeldDesign(design=self.design, base=base, matrix=matrix)
        if not matrix.shape[1]:
            found = likelihood(held, np.zeros(0), restricted=self.restricted)
            return found.criterion - self.bound, None
        first = self.theta[matrix.argmax(axis=0)] if near is None else near
        start = np.maximum(first, LEAST * max(self.theta.max(), base.max()))
        if near is None and not base.any():  # so that they add up to as much as fitted freely
            start = start * self.theta.sum() / (matrix @ start).sum()
        best = maximise(
            held, restricted=self.restricted, start=start, separable=True, reached=NEARLY
        )
        if not best.converged:
            raise Refusal("not_converged", "The profile of the likelihood reached no maximum.")
        return best.at.criterion - self.bound, best.at.theta

    def ends(
        self, holding: Holding, value: float, *, zero: float, top: float, limit: float
    ) -> tuple[float, float]:
        """Find where the profile passes the bound below and above `value`.

        `zero` and `top` are the profile at 0 and at the limit.
        """
        near: Floats | None = None

        def above(log: float) -> float:
            nonlocal near
            found, near = self._held(*holding(back(log, limit)), near)
            return found

        start, least = forth(value, limit), self.least
        low, high = 0.0, limit
        if zero > 0:
            inside, under = start, least
            if start == math.inf:  # the value is all there is: start where it is next to that
                inside, under = _within(above, -NEXT_TO_NOTHING)
            low = back(_crossing(above, inside, under, -1.0), limit)
        if top > 0 and start < math.inf:
            near, inside, under = None, start, least
            if not math.isfinite(start):  # the value is 0: start where it is next to nothing
                inside, under = _within(above, NEXT_TO_NOTHING)
            high = back(_crossing(above, inside, under, 1.0), limit)
        return low, high


def _within(above: Callable[[float], float], step: float) -> tuple[float, float]:
    """Go out by even steps to where the profile is not above 0; give that and the profile there."""
    at = step
    while (found := above(at)) > 0:
        at += step
    return at, found


def _crossing(above: Callable[[float], float], start: float, under: float, step: float) -> float:
    """Find where a profile rises through 0, by doubling steps out from `start`.

    It lies `under` 0 there. Its root above that is nearly straight, and what is searched.
    """
    bound = math.sqrt(-under)

    def rooted(rise: float) -> float:
        return math.sqrt(max(rise - under, 0.0)) - bound

    inside, below, reach = start, -bound, step
    while abs(reach) < math.log(FURTHEST):
        outside = start + reach
        found = rooted(above(outside))
        if found > 0:
            return root_between(
                lambda log: rooted(above(log)),
                inside,
                outside,
                absolute=PRECISION,
                relative=PRECISION,
                values=(below, found),
            )
        inside, below, reach = outside, found, 2 * reach
    return math.copysign(math.inf, step)


def _least(best: Maximum) -> float:
    return LEAST * float(best.at.theta.max())
