"""How many trials until enough have passed, when the share that passes is not known well.

For a known share this is the negative binomial distribution, counted in trials; for an uncertain
one its mixture over the share, whose tail falls like a power: with few trials behind the share a
long run of failures is much likelier than the best guess of the share makes it look, and the
mean need not exist.
"""

from __future__ import annotations

import math
import operator
from dataclasses import dataclass

import numpy as np
from scipy.special import bdtr

from workbench.errors import Refusal
from workbench.inference.decision.uncertain_share import UncertainShare
from workbench.inference.samples import Values

MOST = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialsNeeded:
    """The number of trials until `wanted` have passed.

    Parameters
    ----------
    share : UncertainShare
        The chance that a trial passes by itself.
    wanted : int
        Passes wanted, 1 or more.
    rescued : float
        Chance, 0 to 1, that a failed trial can be put right and then counts as passed.

    Raises
    ------
    Refusal
        `bad_count` for `wanted`, `bad_share` for `rescued`.

    References
    ----------
    Feller, W. (1968). An Introduction to Probability Theory and Its Applications, volume 1, VI.8,
    for a known share; the mixture over a beta is the beta negative binomial (from memory).

    Examples
    --------
    >>> from workbench.inference.decision.uncertain_share import WeightedShare
    >>> needed = TrialsNeeded(share=WeightedShare(values=np.array([0.8])), wanted=10)
    >>> needed.mean, needed.quantile(0.95)
    (12.5, 16.0)
    """

    share: UncertainShare
    wanted: int = 1
    rescued: float = 0.0

    def __post_init__(self) -> None:
        """Refuse numbers no purchase can have."""
        check_trials("wanted", self.wanted)
        check_rescued(self.rescued)

    @property
    def mean(self) -> float:
        """The expected number; infinite where the share may be too close to none."""
        return self.wanted * self.share.expected_trials(self.rescued)

    def chance_of_more_than(self, trials: int) -> float:
        """Give the chance that `trials` are not enough.

        Fewer than `wanted` of them pass by themselves, and too few of the rest can be put right.
        """
        if trials < self.wanted:
            return 1.0
        if self.wanted == 1:
            return float((1 - self.rescued) ** trials * self.share.all_fail(trials))
        passed = np.arange(self.wanted)
        saved_too_few = bdtr(self.wanted - 1 - passed, trials - passed, self.rescued)
        return float(self.share.outcome_chances(trials, self.wanted - 1) @ saved_too_few)

    def chances(self, most: int) -> Values:
        """Give the chances that exactly 1, 2, ... `most` trials are needed."""
        more = np.array([self.chance_of_more_than(trials) for trials in range(most + 1)])
        return np.asarray(more[:-1] - more[1:])

    def quantile(self, share: float) -> float:
        """Give the fewest trials that are enough in `share` of cases; infinite beyond `MOST`.

        `quantile(0.9)` is the number of which it is said: in one case of ten you need more.
        """
        if not 0 < share < 1:
            raise Refusal("bad_share", f"A share of cases lies between 0 and 1, not at {share}.")
        allowed = 1 - share + 1e-12
        high = self.wanted
        while self.chance_of_more_than(high) > allowed:
            high *= 2
            if high > MOST:
                return math.inf
        low = high // 2 if high > self.wanted else self.wanted - 1
        while high - low > 1:
            middle = (low + high) // 2
            if self.chance_of_more_than(middle) > allowed:
                low = middle
            else:
                high = middle
        return float(high)


def check_trials(name: str, number: int) -> None:
    """Refuse a number of trials that is not whole, or not 1 or more (`bad_count`)."""
    try:
        whole = operator.index(number)
    except TypeError:
        raise Refusal("bad_count", f"`{name}` is a whole number, not {number!r}.") from None
    if whole < 1:
        raise Refusal("bad_count", f"`{name}` must be 1 or more, not {whole}.")


def check_rescued(rescued: float) -> None:
    """Refuse a chance of putting a failure right that is not from 0 to 1 (`bad_share`)."""
    if not 0 <= rescued <= 1:
        raise Refusal("bad_share", f"The share put right lies from 0 to 1, not at {rescued}.")
