"""What it costs to try one after another until one passes: in the long run, and this once.

Each trial costs an outlay. A failed one is put right with some chance, for a rework cost, and then
counts as passed; else it brings back its salvage and the next one is tried. Given the share that
passes, the cost per success is the mean cost of a trial over the chance that it ends as a success
(Wald's identity); giving up after some trials changes the risk, not that ratio.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from workbench.errors import Refusal
from workbench.inference.decision.trials import check_rescued, check_trials
from workbench.inference.decision.uncertain_share import UncertainShare
from workbench.inference.samples import Values


@dataclass(frozen=True, slots=True, kw_only=True)
class Spending:
    """Simulated runs of trials, one number a run.

    `spent` is the money of the run, `trials` how many it took, `succeeded` whether it ended with
    success rather than by giving up.
    """

    spent: Values = field(repr=False)
    trials: Values = field(repr=False)
    succeeded: np.ndarray = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrialCosts:
    """The money of one trial; each amount is one number, or an array with one a simulated run.

    Parameters
    ----------
    outlay
        Paid for every trial.
    salvage
        Brought back by a failed trial that is not put right.
    rework
        Paid for a failed trial that is put right.
    rescued : float
        Chance that a failed trial can be put right, from 0 to 1.
    reworks
        Where there are several ways to put a trial right: for each the share of those put right,
        and its cost. Their mean is `rework`; one run pays one of them.

    Raises
    ------
    Refusal
        `bad_share` for `rescued`, or where the shares of `reworks` do not sum to 1.

    Examples
    --------
    Price 100, nothing for a reject, 17 of 20 seen passing (Jeffreys' prior):

    >>> from workbench.inference.decision.uncertain_share import BetaShare
    >>> costs = TrialCosts(outlay=100.0)
    >>> round(costs.expected(BetaShare(a=17.5, b=3.5)), 2)
    121.21
    """

    outlay: float | Values
    salvage: float | Values = 0.0
    rework: float | Values = 0.0
    rescued: float = 0.0
    reworks: tuple[tuple[float, float | Values], ...] = ()

    def __post_init__(self) -> None:
        """Refuse a chance that is none."""
        check_rescued(self.rescued)
        whole = math.fsum(share for share, _ in self.reworks)
        if self.reworks and not math.isclose(whole, 1.0, abs_tol=1e-9):
            raise Refusal("bad_share", f"The shares of all reworks sum to 1, not to {whole:g}.")

    @property
    def failure(self) -> float | Values:
        """What a failed trial costs on average beyond its outlay; negative where it brings back."""
        return self.rescued * self.rework - (1 - self.rescued) * self.salvage

    def per_success(self, share: Values) -> Values:
        """Give the mean cost of a success, in the long run, for each known share.

        Infinite (either sign) where no trial can succeed.
        """
        usable = share + (1 - share) * self.rescued
        a_trial = np.asarray(self.outlay + (1 - share) * self.failure, dtype=float)
        with np.errstate(divide="ignore", invalid="ignore"):
            cost = a_trial / usable
        return np.where((usable == 0) & (a_trial == 0), 0.0, cost)

    def expected(self, share: UncertainShare) -> float:
        """Give the expectation of `per_success` over the share, by closed form.

        Infinite where there is none. For amounts that are single numbers; as every amount enters
        it in proportion, the expectations of independent amounts may be put in for them.
        """
        outlay, failing = float(self.outlay), float(self.failure)
        if self.rescued == 1:
            return outlay + failing * (1 - share.mean)
        a_failure = failing / (1 - self.rescued)
        if outlay + a_failure == 0:
            return -a_failure
        return (outlay + a_failure) * share.expected_trials(self.rescued) - a_failure

    def expected_outlay(self, share: UncertainShare, limit: int) -> float:
        """Give the expected money spent when giving up after `limit` trials, success or not."""
        check_trials("limit", limit)
        reached = np.arange(limit + 1)
        still_trying = (1 - self.rescued) ** reached[:-1]
        fails = share.all_fail(reached)
        spent = float(self.outlay) * fails[:-1] + float(self.failure) * fails[1:]
        return float(still_trying @ spent)

    def chance_of_none(self, share: UncertainShare, limit: int) -> float:
        """Give the chance to give up after `limit` trials with nothing."""
        check_trials("limit", limit)
        return float((1 - self.rescued) ** limit * share.all_fail(limit))

    def spend(
        self, share: Values, generator: np.random.Generator, limit: int | None = None
    ) -> Spending:
        """Simulate one run of trials for each share given: what it takes this once."""
        if limit is not None:
            check_trials("limit", limit)
        usable = share + (1 - share) * self.rescued
        with np.errstate(divide="ignore"):
            needed = np.ceil(np.log(generator.random(share.size)) / np.log1p(-usable))
        needed = np.where(usable == 0, np.inf, np.maximum(needed, 1.0))
        succeeded = np.isfinite(needed) if limit is None else needed <= limit
        trials = needed if limit is None else np.minimum(needed, limit)
        with np.errstate(invalid="ignore"):
            by_rework = np.where(usable > 0, (1 - share) * self.rescued / usable, 0.0)
            reworked = succeeded & (generator.random(share.size) < by_rework)
            each = np.asarray(self.outlay - self.salvage, dtype=float)
            going_on = np.where(each == 0, 0.0, trials * each)
        spent = going_on + succeeded * self.salvage + reworked * self._paid(generator, share.size)
        return Spending(spent=np.asarray(spent), trials=trials, succeeded=succeeded)

    def _paid(self, generator: np.random.Generator, size: int) -> float | Values:
        """Give what putting right costs in each run: the one way there is, or one of several."""
        if len(self.reworks) < 2:
            return self.rework
        ends = np.cumsum([share for share, _ in self.reworks])[:-1]
        kind = np.searchsorted(ends, generator.random(size), side="right")
        costs = [np.broadcast_to(cost, (size,)) for _, cost in self.reworks]
        return np.choose(kind, costs)

    def worth_it(self, share: Values, value: float, limit: int | None) -> Values:
        """Give what the run is worth for each known share: `value` if it succeeds, less its cost.

        Without a limit this is the value less `per_success`; with one, that times the chance to
        succeed in time.
        """
        gain = value - self.per_success(share)
        if limit is None:
            return gain
        failing = (1 - share) * (1 - self.rescued)
        in_time = 1 - failing**limit
        at_none = -limit * np.asarray(self.outlay + self.failure, dtype=float)
        with np.errstate(invalid="ignore"):
            return np.where(failing == 1, at_none, in_time * gain)

    def expected_worth(self, share: UncertainShare, value: float, limit: int | None) -> float:
        """Give the expectation of `worth_it` over the share, by closed form."""
        if limit is None:
            return value - self.expected(share)
        missed = self.chance_of_none(share, limit)
        return value * (1 - missed) - self.expected_outlay(share, limit)


def mean_that_holds(draws: Values) -> tuple[float, float]:
    """Give a simulated mean and its standard error, or refuse one that hangs on a few draws.

    The thousandth of the draws furthest from their median must not make up more than a tenth of
    all distances from it: for an exponential tail it is a hundredth, for a power law of exponent
    1.8 a tenth, and nearer to 1 the mean moves with the luck of the draw.

    Raises
    ------
    Refusal
        `no_finite_mean`.
    """
    if not bool(np.all(np.isfinite(draws))):
        raise Refusal("no_finite_mean", "Some draws are without bound; their mean is not given.")
    distances = np.sort(np.abs(draws - np.median(draws)))
    top = draws.size // 1000
    if top and distances[-top:].sum() > 0.1 * distances.sum() > 0:
        raise Refusal(
            "no_finite_mean",
            f"The mean of {draws.size} draws hangs on the {top} furthest of them; it is not given.",
        )
    return float(draws.mean()), float(draws.std(ddof=1) / math.sqrt(draws.size))
