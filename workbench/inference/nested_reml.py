"""The variances that maximise the restricted likelihood, none below zero."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from workbench.errors import Refusal
from workbench.inference.nested_cells import Floats
from workbench.inference.nested_likelihood import Likelihood, likelihood
from workbench.inference.nested_sums import NestedSums, no_residual_spread, residual_squares

Flags = npt.NDArray[np.bool_]

MOST_STEPS = 100
MOST_HALVINGS = 30
SCORING_STEPS = 2  # before the observed information is trusted
ROUNDED = 1e-8  # gain in log likelihood, below which rounding hides whether it still rises
MOST_POLISHING = 3  # steps taken unchecked within rounding
NEGLIGIBLE = 1e-6  # gain that no step could realise: a thousandth of a standard error away
REACHED = 1e-14  # gain that the last step promises; what is left after it is about its square
LEAST_RESIDUAL = 0.1  # share of the residual variance that one step leaves at least
VANISHED = 1e-5  # share of the first residual variance, below which it is on its way to zero
TRACE = 0.01  # share of what a sum of squares holds already, that a start at least adds to it
INSEPARABLE = 1e-10


@dataclass(frozen=True, slots=True, kw_only=True)
class Maximum:
    """The likelihood at its maximum; `converged` is False where no maximum was reached."""

    at: Likelihood
    converged: bool
    steps: int


def maximise(sums: NestedSums) -> Maximum:
    """Find the variances by Fisher scoring, then Newton steps, held at or above zero.

    A variance at zero stays there while the likelihood falls into the positive side, and is let go
    when it rises. Each step is halved until the likelihood does not fall.

    Raises
    ------
    Refusal
        The readings cannot tell two of the variances apart, or the residual variance goes to zero.
    """
    try:
        return _climb(sums, likelihood(sums, _start(sums)))
    except np.linalg.LinAlgError:
        raise _not_separable(sums) from None


def _climb(sums: NestedSums, here: Likelihood) -> Maximum:
    _check_separable(here.expected, sums)
    vanished = VANISHED * here.theta[0]
    polished = 0
    for step in range(MOST_STEPS):
        information = here.expected
        free = _free(here, information)
        if step >= SCORING_STEPS and _positive_definite(here.observed[np.ix_(free, free)]):
            information = here.observed
            free = _free(here, information)
        move = _move(here, information, free)
        gain = float(move @ here.score)
        there = _step(sums, here, move, halvings=MOST_HALVINGS if gain > ROUNDED else 0)
        if there is None:
            return Maximum(at=here, converged=gain <= NEGLIGIBLE, steps=step)
        here = there
        if here.theta[0] < vanished:
            raise no_residual_spread(sums)
        polished += gain <= ROUNDED
        if gain <= REACHED or polished == MOST_POLISHING:
            return Maximum(at=here, converged=True, steps=step + 1)
    return Maximum(at=here, converged=False, steps=MOST_STEPS)


def _start(sums: NestedSums) -> Floats:
    """Equate the nested sums of squares to their expectations, all variances above zero.

    The fixed columns are taken as fitted already; the first scoring step puts that right.
    """
    n, y = sums.n, sums.means[:, -1]
    left, free = residual_squares(sums)
    residual = left / free if free > 0 else float(y @ y) / len(y)
    if not len(n):
        return np.array([residual])
    least = TRACE * residual * len(n) / n.sum()
    if sums.starts is None:
        return np.array([residual, max((y @ y - residual * len(n)) / n.sum(), least)])
    size = np.add.reduceat(n, sums.starts)
    between = float((np.add.reduceat(y * np.sqrt(n), sums.starts) ** 2 / size).sum())
    inside = float((np.add.reduceat(n**2, sums.starts) / size).sum())
    groups = len(size)
    inner = (y @ y - between - residual * (len(n) - groups)) / (n.sum() - inside)
    inner = max(inner, least)
    below = residual * groups + inner * inside
    return np.array([residual, inner, max(between - below, TRACE * below) / n.sum()])


def _move(here: Likelihood, information: Floats, free: Flags) -> Floats:
    move = np.zeros_like(here.theta)
    move[free] = np.linalg.solve(information[np.ix_(free, free)], here.score[free])
    return move


def _free(here: Likelihood, information: Floats) -> Flags:
    """Leave out the variances at zero that the likelihood, or the step, would make negative."""
    at_zero = here.theta == 0
    free: Flags = ~(at_zero & (here.score <= 0))
    while True:
        below = at_zero & (_move(here, information, free) < 0)
        if not below.any():
            return free
        free &= ~below


def _step(sums: NestedSums, here: Likelihood, move: Floats, *, halvings: int) -> Likelihood | None:
    """Take the step, halved until the likelihood does not fall; None where it always does.

    Without halvings the step is taken as it is.
    """
    least = np.zeros_like(here.theta)
    least[0] = LEAST_RESIDUAL * here.theta[0]
    for halving in range(halvings + 1):
        try:
            there = likelihood(sums, np.maximum(here.theta + move / 2**halving, least))
        except np.linalg.LinAlgError:  # too near zero for the arithmetic
            continue
        if there.criterion <= here.criterion or not halvings:
            return there
    return None


def _positive_definite(matrix: Floats) -> bool:
    try:
        np.linalg.cholesky(matrix)
    except np.linalg.LinAlgError:
        return False
    return True


def _check_separable(information: Floats, sums: NestedSums) -> None:
    scale = np.sqrt(np.diag(information))
    if scale.min() > 0:
        correlation = information / np.outer(scale, scale)
        if np.linalg.eigvalsh(correlation)[0] > INSEPARABLE:
            return
    raise _not_separable(sums)


def _not_separable(sums: NestedSums) -> Refusal:
    return Refusal(
        "not_separable",
        f"The {sums.readings:.0f} readings cannot tell the spread of "
        f"{', '.join(sums.components)} apart beyond the fixed factors: leave out a level of "
        "nesting or a fixed factor.",
    )
