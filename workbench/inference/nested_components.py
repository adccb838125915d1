"""How well variance components, their ratios and shares are known: profile-likelihood intervals.

An interval holds the values at which the likelihood, all else fitted again, lies below its
maximum by no more than the chi-square point on one degree of freedom allows. To hold a component,
a ratio or a share at a value leaves a model that is linear in fewer variances, all zero or above:
the same search finds its maximum.

References
----------
Pawitan, Y. (2001). In All Likelihood. Section 3.4; Bates, D., Maechler, M., Bolker, B. and Walker,
S. (2015). Journal of Statistical Software 67(1), section 5.1. Both from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.optimize import brentq
from scipy.special import chdtri

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.nested_cells import Cells, Floats
from workbench.inference.nested_likelihood import Design, Products, likelihood
from workbench.inference.nested_reml import Maximum, maximise
from workbench.inference.results import check_confidence

FURTHEST = 1e6  # times the estimate, beyond which an upper end is called infinite
LEAST = 1e-3  # of the largest variance: where a search of the others starts at least
PRECISION = 1e-8


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
class _Held:
    """A design in fewer variances: those of `design` are `base + matrix @ theta`."""

    design: Design
    base: Floats
    matrix: Floats

    @property
    def components(self) -> tuple[str, ...]:
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
        return self.design.readings

    @property
    def fixed(self) -> int:
        return self.design.fixed

    def start(self) -> Floats:
        return np.ones(self.matrix.shape[1])

    def products(self, theta: Floats) -> Products:
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


Holding = Callable[[float], tuple[Floats, Floats]]


def component_interval(
    model: Fitted, name: str, confidence: float = 0.95, *, restricted: bool = True
) -> Estimate:
    """Answer how well one variance component is known, in the unit of the response squared.

    Parameters
    ----------
    model : NestedModel or UnequalModel
        The fitted model.
    name : str
        A component; "residual" among them ("bore of works" with spreads by family).
    confidence : float
        Between 0 and 1.
    restricted : bool
        By the restricted likelihood, as the fit; else by the full one, which takes the fixed
        effects for known and is a little shorter.

    Returns
    -------
    Estimate
        The lower end is 0 where 0 is not contradicted. With few groups the upper end is far: that
        is what few groups tell.

    Raises
    ------
    Refusal
        `unknown_component`, `bad_confidence`, `not_converged`.
    """
    place = _place(model.design, name)
    many = len(model.design.components)
    others = np.delete(np.eye(many), place, axis=1)

    def holding(value: float) -> tuple[Floats, Floats]:
        base = np.zeros(many)
        base[place] = value
        return base, others

    profile = _Profile.of(model, restricted, confidence)
    zero = math.inf if place in model.design.residuals else profile.at(*holding(0.0))
    value = float(profile.theta[place])
    found = profile.ends(holding, value, zero=zero, top=math.inf, limit=math.inf)
    squared = model.cells.scale**2
    return _estimate(profile, squared * value, squared * found[0], squared * found[1])


def ratio_interval(
    model: Fitted,
    numerator: str,
    denominator: str,
    confidence: float = 0.95,
    *,
    restricted: bool = True,
) -> Estimate:
    """Answer how many times one variance component is another.

    Parameters
    ----------
    model, confidence, restricted
        As for `component_interval`.
    numerator, denominator : str
        Two components. With spreads by family: "block of trophy" over "block of works".

    Returns
    -------
    Estimate
        The upper end is infinite where a denominator of 0 is not contradicted.

    Raises
    ------
    Refusal
        `no_denominator` where the denominator is estimated at 0; else as `component_interval`.
    """
    above, below = _place(model.design, numerator), _place(model.design, denominator)
    if above == below:
        raise Refusal("bad_ratio", f"{numerator!r} over itself is 1.")
    many = len(model.design.components)
    residuals = model.design.residuals

    def holding(value: float) -> tuple[Floats, Floats]:
        matrix = np.eye(many)
        matrix[above, below] = value
        return np.zeros(many), np.delete(matrix, above, axis=1)

    profile = _Profile.of(model, restricted, confidence)
    if profile.theta[below] == 0:
        raise Refusal(
            "no_denominator", f"{denominator!r} is estimated at 0; a ratio to it has no value."
        )
    without = np.delete(np.eye(many), below, axis=1)
    value = float(profile.theta[above] / profile.theta[below])
    zero = math.inf if above in residuals else profile.at(*holding(0.0))
    top = math.inf if below in residuals else profile.at(np.zeros(many), without)
    return _estimate(
        profile, value, *profile.ends(holding, value, zero=zero, top=top, limit=math.inf)
    )


def share_interval(
    model: Fitted, names: Sequence[str], confidence: float = 0.95, *, restricted: bool = True
) -> Estimate:
    """Answer which share of the whole variance of one reading some components are, from 0 to 1.

    The share of the outermost component is the correlation of two readings of one block in
    different bores; that of all but "residual" of two readings of one bore.

    Parameters
    ----------
    model, confidence, restricted
        As for `component_interval`, spreads not by family.
    names : sequence of str
        One component or more, not all; those named, or those not named, are one alone.

    Raises
    ------
    Refusal
        `bad_share`; else as `component_interval`.
    """
    components = model.design.components
    chosen = sorted({_place(model.design, name) for name in names})
    rest = [place for place in range(len(components)) if place not in chosen]
    if not (chosen and rest) or min(len(chosen), len(rest)) > 1 or len(model.design.residuals) > 1:
        raise Refusal(
            "bad_share",
            f"A share is of one component, or of all but one, among {', '.join(components)}; "
            f"not of {', '.join(names) or 'none'}.",
        )
    many = len(components)
    identity = np.eye(many)

    def holding(value: float) -> tuple[Floats, Floats]:
        alone, kept, odds = rest[0], chosen, (1 - value) / value
        if len(rest) > 1:
            alone, kept, odds = chosen[0], rest, value / (1 - value)
        matrix = identity[:, kept].copy()
        matrix[alone, :] += odds
        return np.zeros(many), matrix

    profile = _Profile.of(model, restricted, confidence)
    residual = model.design.residuals[0]
    nothing = np.zeros(many)
    value = float(profile.theta[chosen].sum() / profile.theta.sum())
    zero = math.inf if residual in chosen else profile.at(nothing, identity[:, rest])
    top = math.inf if residual in rest else profile.at(nothing, identity[:, chosen])
    return _estimate(profile, value, *profile.ends(holding, value, zero=zero, top=top, limit=1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Profile:
    """How far the likelihood lies above its bound where something is held at a value."""

    design: Design
    theta: Floats
    bound: float
    restricted: bool
    confidence: float

    @classmethod
    def of(cls, model: Fitted, restricted: bool, confidence: float) -> _Profile:
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

    def at(self, base: Floats, matrix: Floats) -> float:
        """Give the criterion, the variances of `matrix` at their best, less the bound."""
        held = _Held(design=self.design, base=base, matrix=matrix)
        if not matrix.shape[1]:
            found = likelihood(held, np.zeros(0), restricted=self.restricted)
            return found.criterion - self.bound
        start = np.maximum(
            self.theta[matrix.argmax(axis=0)], LEAST * max(self.theta.max(), base.max())
        )
        best = maximise(held, restricted=self.restricted, start=start)
        if not best.converged:
            raise Refusal("not_converged", "The profile of the likelihood reached no maximum.")
        return best.at.criterion - self.bound

    def ends(
        self, holding: Holding, value: float, *, zero: float, top: float, limit: float
    ) -> tuple[float, float]:
        """Find where the profile passes the bound below and above `value`.

        `zero` and `top` are the profile at 0 and at the limit.
        """

        def above(log: float) -> float:
            return self.at(*holding(_back(log, limit)))

        start = _forth(value, limit)
        low, high = 0.0, limit
        if zero > 0:
            low = _back(_crossing(above, start, -1.0), limit)
        if top > 0:
            if not math.isfinite(start):  # the value is 0: start where it is next to nothing
                start = math.log(LEAST * float(self.theta.max()))
            high = _back(_crossing(above, start, 1.0), limit)
        return low, high


def _crossing(above: Callable[[float], float], start: float, step: float) -> float:
    """Find where a profile rises through 0, by doubling steps out from `start`."""
    inside, reach = start, step
    while abs(reach) < 2 * math.log(FURTHEST):
        outside = start + reach
        if above(outside) > 0:
            return float(brentq(above, inside, outside, xtol=PRECISION, rtol=PRECISION))
        inside, reach = outside, 2 * reach
    return math.copysign(math.inf, step)


def _forth(value: float, limit: float) -> float:
    """Bring 0 to the limit onto the whole line: a logarithm, or that of the odds."""
    if value <= 0:
        return -math.inf
    return math.log(value) if limit == math.inf else math.log(value / (limit - value))


def _back(log: float, limit: float) -> float:
    if log == math.inf:
        return limit
    return math.exp(log) if limit == math.inf else limit / (1 + math.exp(-log))


def _least(best: Maximum) -> float:
    return LEAST * float(best.at.theta.max())


def _estimate(profile: _Profile, value: float, low: float, high: float) -> Estimate:
    kind = "restricted" if profile.restricted else "full"
    return Estimate(
        low=low,
        high=high,
        confidence=profile.confidence,
        estimate=value,
        method=f"profile of the {kind} likelihood",
    )


def _place(design: Design, name: str) -> int:
    if name not in design.components:
        raise Refusal(
            "unknown_component",
            f"The components are {', '.join(design.components)}; not {name!r}.",
        )
    return design.components.index(name)
