"""One block held against a family: where it stands, and what a single block cannot show.

With one block it can be said how unusual the block would be *as a member of the reference family*,
and which share of that family lies below it, with an interval. It cannot be said how the block's
own family varies, where the mean of that family lies, or whether its next block would look the
same: one block has no spread. The test below lends it the spread of the reference family; if the
new family varies more, far blocks turn up by that alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.typing import ArrayLike
from scipy.special import ndtr, stdtr, stdtrit

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary
from workbench.inference.noncentral import noncentrality_interval
from workbench.inference.results import Difference, Interval, check_confidence
from workbench.inference.samples import summarised


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleCase:
    """A block of value `case` against the family summarised in `family`; t has n - 1 df."""

    case: float
    family: Summary

    @property
    def statistic(self) -> float:
        """The modified t: the distance over sd sqrt(1 + 1/n)."""
        return self.difference.statistic()

    @property
    def p_value(self) -> float:
        """Two-sided: the chance that a block of the family lies as far from the mean."""
        return self.difference.p_value()

    @property
    def share_below(self) -> float:
        """The estimated share of the family that lies below the block, from 0 to 1.

        It is also the one-sided p against 'a block of the family lies as low'.
        """
        return float(stdtr(self.family.n - 1, self.statistic))

    @property
    def standardised(self) -> float:
        """The distance from the family's mean in the family's standard deviations."""
        return (self.case - self.family.mean) / self.family.sd

    @property
    def difference(self) -> Difference:
        """Block less family mean, for margins; lends the block the family's spread."""
        return Difference(
            estimate=self.case - self.family.mean,
            standard_error=self.family.sd * math.sqrt(1 + 1 / self.family.n),
            degrees_of_freedom=self.family.n - 1,
            method="modified t of a single case",
        )

    def missed(self, times: float, confidence: float = 0.95) -> float:
        """Give how often intervals miss if the block's own family varies `times` as much.

        The error is then sqrt((times^2 + 1/n) / (1 + 1/n)) times the one lent: exact for normal
        blocks.
        """
        if not (times > 0 and math.isfinite(times)):
            raise Refusal("bad_spread", f"A spread is more than 0 times another, not {times}.")
        check_confidence(confidence)
        n = self.family.n
        wider = math.sqrt((times**2 + 1 / n) / (1 + 1 / n))
        reach = float(stdtrit(n - 1, (1 + confidence) / 2))
        return 2 * float(stdtr(n - 1, -reach / wider))

    def share_below_interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the share of the family below the block.

        `share_below` allows for how little is known of the family and so lies nearer to a half: of
        few blocks, for one far out, nearer than the exact interval. That reaches to it then.
        """
        ends, share = self.standardised_interval(confidence), self.share_below
        return Interval(
            low=min(float(ndtr(ends.low)), share),
            high=max(float(ndtr(ends.high)), share),
            confidence=confidence,
        )

    def standardised_interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the distance in true standard deviations, by noncentral t."""
        root = math.sqrt(self.family.n)
        ends = noncentrality_interval(root * self.standardised, self.family.n - 1, confidence)
        return Interval(low=ends.low / root, high=ends.high / root, confidence=confidence)


def single_case(case: float, family: ArrayLike | Summary) -> SingleCase:
    """Answer how unusual one block would be in a family known by a small sample.

    Parameters
    ----------
    case : float
        The block's value.
    family : array_like or Summary
        One number a block of the family, two blocks or more, roughly normal; or its printed count,
        mean and standard deviation. The block itself is not among them.

    Raises
    ------
    Refusal
        `not_finite`, `too_few`, `zero_spread`.

    References
    ----------
    Crawford, J. R., Howell, D. C. (1998). Comparing an individual's test score against norms
    derived from small samples. The Clinical Neuropsychologist 12, 482-486. Crawford, J. R.,
    Garthwaite, P. H. (2002). Neuropsychologia 40, 1196-1208 (the interval). Both from memory.

    Examples
    --------
    >>> found = single_case(11.9, Summary(n=12, mean=9.2, sd=1.1))
    >>> ends = found.share_below_interval()
    >>> f"p = {found.p_value:.3f}; {found.share_below:.3f} ({ends.low:.3f} to {ends.high:.4f})"
    'p = 0.038; 0.981 (0.900 to 0.9998)'
    """
    if not math.isfinite(case):
        raise Refusal("not_finite", f"The block's value is {case}; it must be finite.")
    known = summarised(family, name="the family")
    if known.sd == 0:
        raise Refusal("zero_spread", f"All {known.n} blocks of the family are equal.")
    return SingleCase(case=float(case), family=known)
