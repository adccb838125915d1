"""Do families share their spreads? The likelihood ratio of common against own variances.

Twice the gain of restricted log-likelihood is set against its values for readings drawn from the
model with common variances (a parametric bootstrap): with few blocks it is larger by chance than
the chi-square says, and at a variance of zero it has no chi-square at all. Drawn are not readings
but their sums, from the normal and chi-square distributions they have.

References
----------
Davison, A. C. and Hinkley, D. V. (1997). Bootstrap Methods and their Application, section 4.2.3;
Self, S. G. and Liang, K.-Y. (1987). Journal of the American Statistical Association 82, 605-610
(variances at zero); Welham, S. J. and Thompson, R. (1997). Journal of the Royal Statistical
Society B 59, 701-714 (restricted likelihoods compared); Besag, J. and Clifford, P. (1991).
Sequential Monte Carlo p-values. Biometrika 78, 301-304. All from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import chdtrc

from workbench.errors import Refusal
from workbench.inference.nested.cells import Floats
from workbench.inference.nested.products import NestedDesign
from workbench.inference.nested.reml import Maximum, maximise
from workbench.inference.nested.sums import NestedSums
from workbench.inference.nested.unequal import UnequalDesign, UnequalModel

RESAMPLES = 199
FEWEST = 19
REACHED = 1e-4  # promised by the last step: only the likelihood is asked for, within its square
SPANNED = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class NestedSpreadTest:
    """Common against own variances by family.

    `statistic` is twice the gain of log-likelihood by `parameters` further variances. `p_value` is
    that of the bootstrap, the observed statistic counted in; `chi_square_p` that of the chi-square
    limit, too small with few blocks. `unfinished` draws, which one of the models could not be
    fitted to, count as larger.
    """

    statistic: float
    parameters: int
    p_value: float
    chi_square_p: float
    resamples: int
    unfinished: int
    seed: int


def nested_spread_test(
    model: UnequalModel, *, seed: int, resamples: int = RESAMPLES, enough: int | None = None
) -> NestedSpreadTest:
    """Answer whether families differ in any of their variances: of blocks, of bores, of readings.

    Parameters
    ----------
    model : UnequalModel
        As `unequal_model` gives it.
    seed : int
        Of the draws.
    resamples : int
        How many draws; at least 19.
    enough : int, optional
        How many draws as far out as the readings end it: where families vary alike, a few dozen
        draws do (Besag and Clifford 1991). Left out, all are made.

    Raises
    ------
    Refusal
        `other_components` where a family's readings tell fewer variances than all together do;
        `too_few_draws`; `not_converged`.
    """
    if resamples < FEWEST:
        raise Refusal(
            "too_few_draws", f"{resamples} draws tell no p of 0.05; at least {FEWEST} are needed."
        )
    parts, equal = model.design.parts, model.equal_sums
    if any(part.components != equal.components for part in parts):
        raise Refusal(
            "other_components",
            f"Not every {model.by} was read so that {', '.join(equal.components)} can be told "
            "apart; their spreads cannot be compared one by one.",
        )
    null = maximise(NestedDesign(sums=equal))
    if not (null.converged and model.maximum.converged):
        raise Refusal("not_converged", "One of the two models reached no maximum; no answer.")
    statistic = max(0.0, null.at.criterion - model.maximum.at.criterion)
    generator = np.random.default_rng(seed)
    larger = unfinished = 0
    made = 0
    while made < resamples and larger != enough:
        made += 1
        drawn = tuple(_drawn(part, null.at.theta, generator) for part in parts)
        gain = _gain(model.design.families, drawn, null.at.theta)
        unfinished += gain is None
        larger += gain is None or gain >= statistic
    parameters = len(model.design.components) - len(equal.components)
    return NestedSpreadTest(
        statistic=statistic,
        parameters=parameters,
        p_value=larger / made if larger == enough else (1 + larger) / (1 + made),
        chi_square_p=float(chdtrc(parameters, statistic)),
        resamples=made,
        unfinished=unfinished,
        seed=seed,
    )


def _gain(families: tuple[str, ...], parts: tuple[NestedSums, ...], theta: Floats) -> float | None:
    """Give the statistic of drawn sums, or None where a model cannot be fitted to them."""
    own = UnequalDesign(families=families, parts=parts)
    start = np.maximum(theta, 1e-3 * theta[0])
    try:
        null = maximise(NestedDesign(sums=joined(parts)), start=start, reached=REACHED)
        free = maximise(own, start=np.tile(start, len(parts)), reached=REACHED)
    except Refusal:
        return None
    if not (null.converged and free.converged):
        return None
    return _difference(null, free)


def _difference(null: Maximum, free: Maximum) -> float:
    return max(0.0, null.at.criterion - free.at.criterion)


def joined(parts: Sequence[NestedSums]) -> NestedSums:
    """Put the sums of several families together again, for common variances."""
    first, starts = parts[0], None
    if first.starts is not None:
        before = np.cumsum([0, *(len(part.n) for part in parts[:-1])])
        starts = np.concatenate(
            [
                np.asarray(part.starts) + shift
                for part, shift in zip(parts, before.tolist(), strict=True)
            ]
        )
    return replace(
        first,
        within=np.sum([part.within for part in parts], axis=0),
        deviations=sum(part.deviations for part in parts),
        means=np.vstack([part.means for part in parts]),
        n=np.concatenate([part.n for part in parts]),
        starts=starts,
    )


def _drawn(sums: NestedSums, theta: Floats, generator: np.random.Generator) -> NestedSums:
    """Draw the response anew with variances `theta`; the likelihood does not see fixed effects."""
    s2, root = float(theta[0]), np.sqrt(sums.n)
    means = sums.means.copy()
    means[:, -1] = np.sqrt(s2 + sums.n * theta[1]) * generator.standard_normal(len(root))
    if sums.starts is not None:
        effects = np.sqrt(theta[2]) * generator.standard_normal(len(sums.starts))
        sizes = np.diff(sums.starts, append=len(root))
        means[:, -1] += root * np.repeat(effects, sizes)
    within = sums.within.copy()
    values, vectors = np.linalg.eigh(within[:-1, :-1])
    told = values > SPANNED * max(float(values[-1]), 1.0)
    along = np.sqrt(s2) * generator.standard_normal(int(told.sum()))
    left = sums.deviations - len(along)
    rest = s2 * generator.chisquare(left) if left > 0 else 0.0
    within[:-1, -1] = (vectors[:, told] * np.sqrt(values[told])) @ along
    within[-1, :-1] = within[:-1, -1]
    within[-1, -1] = float(along @ along) + rest
    return replace(sums, means=means, within=within)
