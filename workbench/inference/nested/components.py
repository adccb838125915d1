"""How well variance components, their ratios and shares are known: profile-likelihood intervals.

An interval holds the values at which the likelihood, all else fitted again, lies below its
maximum by no more than the chi-square point on one degree of freedom allows.

References
----------
Pawitan, Y. (2001). In All Likelihood. Section 3.4; Bates, D., Maechler, M., Bolker, B. and Walker,
S. (2015). Journal of Statistical Software 67(1), section 5.1. Both from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.nested.cells import Floats
from workbench.inference.nested.likelihood import Design
from workbench.inference.nested.profile import Fitted, Profile


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

    profile = Profile.of(model, restricted, confidence)
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

    profile = Profile.of(model, restricted, confidence)
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

    profile = Profile.of(model, restricted, confidence)
    residual = model.design.residuals[0]
    nothing = np.zeros(many)
    value = float(profile.theta[chosen].sum() / profile.theta.sum())
    zero = math.inf if residual in chosen else profile.at(nothing, identity[:, rest])
    top = math.inf if residual in rest else profile.at(nothing, identity[:, chosen])
    return _estimate(profile, value, *profile.ends(holding, value, zero=zero, top=top, limit=1.0))


def _estimate(profile: Profile, value: float, low: float, high: float) -> Estimate:
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
