"""The variances that maximise the restricted or the full likelihood, held at zero or not."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from workbench.errors import Refusal
from workbench.inference.nested.cells import Floats
from workbench.inference.nested.likelihood import Design, Likelihood, likelihood
from workbench.inference.nested.sums import no_residual_spread

Flags = npt.NDArray[np.bool_]

MOST_STEPS = 100
MOST_HALVINGS = 30
SCORING_STEPS = 2  # before the observed information is trusted
ROUNDED = 1e-8  # gain in log likelihood, below which rounding hides whether it still rises
MOST_POLISHING = 3  # steps taken unchecked within rounding
NEGLIGIBLE = 1e-6  # gain that no step could realise: a thousandth of a standard error away
REACHED = 1e-14  # gain that the last step promises; what is left after it is about its square
NEARLY = 1e-8  # the same where thousands of fits are made, or only the likelihood is asked for
LEAST_RESIDUAL = 0.1  # share of the residual variance that one step leaves at least
VANISHED = 1e-5  # share of the first residual variance, below which it is on its way to zero
INSEPARABLE = 1e-10


@dataclass(frozen=True, slots=True, kw_only=True)
class Maximum:
    """The likelihood at its maximum; `converged` is False where no maximum was reached."""

    at: Likelihood
    converged: bool
    steps: int


def maximise(
    design: Design,
    *,
    restricted: bool = True,
    start: Floats | None = None,
    separable: bool = False,
    bounded: bool = True,
    reached: float = REACHED,
) -> Maximum:
    """Find the variances by Fisher scoring, then Newton steps, held at or above zero.

    A variance at zero stays there while the likelihood falls into the positive side, and is let go
    when it rises. Each step is halved until the likelihood does not fall. `start` is near the
    maximum already, where it is given; with `separable` the variances are known to be told apart.
    Not `bounded`, a variance of groups may fall below zero as far as the readings keep a covariance
    at all; the residual variance may not. `reached` is the gain of log likelihood that the last
    step may still promise.

    Raises
    ------
    Refusal
        The readings cannot tell two of the variances apart, or a residual variance goes to zero.
    """
    try:
        first = design.start() if start is None else start
        here = likelihood(design, first, restricted=restricted)
        if not separable:
            _check_separable(here.expected, design)
        scoring = 0 if start is not None else SCORING_STEPS
        found = _climb(design, here, restricted, scoring, bounded, reached)
        if bounded or _positive_definite(found.at.expected):
            return found
        return replace(found, converged=False)  # it fell to where there is no covariance
    except np.linalg.LinAlgError:
        raise _not_separable(design) from None


def _climb(
    design: Design,
    here: Likelihood,
    restricted: bool,
    scoring: int,
    bounded: bool,
    reached: float,
) -> Maximum:
    residuals = list(design.residuals)
    vanished = VANISHED * here.theta[residuals]
    polished = 0
    for step in range(MOST_STEPS):
        information = here.expected
        free = _free(here, information, bounded)
        if step >= scoring and _positive_definite(here.observed[np.ix_(free, free)]):
            information = here.observed
            free = _free(here, information, bounded)
        move = _move(here, information, free)
        gain = float(move @ here.score)
        halvings = MOST_HALVINGS if gain > ROUNDED else 0
        least = _least(design, here, bounded)
        there = _step(design, here, move, least, halvings=halvings, restricted=restricted)
        if there is None:
            return Maximum(at=here, converged=gain <= NEGLIGIBLE, steps=step)
        here = there
        if (here.theta[residuals] < vanished).any():
            raise no_residual_spread(design.readings)
        polished += gain <= ROUNDED
        if gain <= reached or polished == MOST_POLISHING:
            return Maximum(at=here, converged=True, steps=step + 1)
    return Maximum(at=here, converged=False, steps=MOST_STEPS)


def _move(here: Likelihood, information: Floats, free: Flags) -> Floats:
    move = np.zeros_like(here.theta)
    move[free] = np.linalg.solve(information[np.ix_(free, free)], here.score[free])
    return move


def _free(here: Likelihood, information: Floats, bounded: bool) -> Flags:
    """Leave out the variances at zero that the likelihood, or the step, would make negative."""
    at_zero = (here.theta == 0) & bounded
    free: Flags = ~(at_zero & (here.score <= 0))
    while True:
        below = at_zero & (_move(here, information, free) < 0)
        if not below.any():
            return free
        free &= ~below


def _least(design: Design, here: Likelihood, bounded: bool) -> Floats:
    """Give the least that each variance may come to in one step."""
    least = np.full_like(here.theta, 0.0 if bounded else -np.inf)
    residuals = list(design.residuals)
    least[residuals] = LEAST_RESIDUAL * here.theta[residuals]
    return least


def _step(
    design: Design,
    here: Likelihood,
    move: Floats,
    least: Floats,
    *,
    halvings: int,
    restricted: bool,
) -> Likelihood | None:
    """Take the step, halved until the likelihood does not fall; None where it always does.

    Without halvings the step is taken as it is, unless it leads away along a flat ridge.
    """
    for halving in range(halvings + 1):
        theta = np.maximum(here.theta + move / 2**halving, least)
        try:
            there = likelihood(design, theta, restricted=restricted)
        except np.linalg.LinAlgError:  # too near zero for the arithmetic
            continue
        rise = there.criterion - here.criterion
        if rise <= 0 or (not halvings and rise <= NEGLIGIBLE):
            return there
    return None


def _positive_definite(matrix: Floats) -> bool:
    try:
        np.linalg.cholesky(matrix)
    except np.linalg.LinAlgError:
        return False
    return True


def _check_separable(information: Floats, design: Design) -> None:
    scale = np.sqrt(np.diag(information))
    if scale.min() > 0:
        correlation = information / np.outer(scale, scale)
        if np.linalg.eigvalsh(correlation)[0] > INSEPARABLE:
            return
    raise _not_separable(design)


def _not_separable(design: Design) -> Refusal:
    return Refusal(
        "not_separable",
        f"The {design.readings:.0f} readings cannot tell the spread of "
        f"{', '.join(design.components)} apart beyond the fixed factors: leave out a level of "
        "nesting or a fixed factor.",
    )
