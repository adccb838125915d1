"""Several families two by two, with one error rate for the whole set of comparisons."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

from workbench.errors import Refusal
from workbench.inference.means.max_t import max_t_cdf, max_t_quantile, range_cdf, range_quantile
from workbench.inference.means.several_families import Families, Moments
from workbench.inference.results import Interval
from workbench.inference.samples import Values


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One comparison of a set: candidate minus reference, with its standard error."""

    candidate: str
    reference: str
    estimate: float
    standard_error: float
    degrees_of_freedom: float
    method: str

    def statistic(self, margin: float = 0.0) -> float:
        """Give t for the boundary `margin`."""
        return (self.estimate - margin) / self.standard_error


@dataclass(frozen=True, slots=True, kw_only=True)
class RangePair(Pair):
    """One of all pairs among `families` families, judged by the studentised range."""

    families: int

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the boundary `margin`, adjusted for all pairs."""
        reach = math.sqrt(2) * abs(self.statistic(margin))
        return max(0.0, 1 - range_cdf(reach, self.families, self.degrees_of_freedom))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval that holds together with those of all other pairs."""
        q = range_quantile(confidence, self.families, self.degrees_of_freedom)
        return _around(self, q / math.sqrt(2), confidence)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferencePair(Pair):
    """One of several candidates against one reference, judged by the largest of their t's."""

    loadings: tuple[float, ...]

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the boundary `margin`, adjusted for all candidates."""
        reach = abs(self.statistic(margin))
        return max(0.0, 1 - max_t_cdf(reach, self.loadings, self.degrees_of_freedom))

    def p_above(self, margin: float) -> float:
        """Give the adjusted one-sided p against 'the difference is `margin` or less'."""
        return self._one_sided(self.statistic(margin))

    def p_below(self, margin: float) -> float:
        """Give the adjusted one-sided p against 'the difference is `margin` or more'."""
        return self._one_sided(-self.statistic(margin))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval that holds together with those of all other candidates."""
        t = max_t_quantile(confidence, self.loadings, self.degrees_of_freedom)
        return _around(self, t, confidence)

    def _one_sided(self, t: float) -> float:
        within = max_t_cdf(t, self.loadings, self.degrees_of_freedom, two_sided=False)
        return max(0.0, 1 - within)


def tukey(families: Families) -> tuple[RangePair, ...]:
    """Answer which of several families differ, each pair, when their spreads are alike.

    Parameters
    ----------
    families : mapping of str to array_like or Summary
        One number a block, or printed count, mean and standard deviation; unequal counts allowed
        (Kramer), which errs on the safe side.

    Returns
    -------
    tuple of RangePair
        Later family minus earlier one, in the order given.

    Raises
    ------
    Refusal
        `too_few_families`, `too_few`, `zero_spread`, `not_finite`.

    References
    ----------
    Kramer, C. Y. (1956). Extension of multiple range tests to group means with unequal numbers of
    replications. Biometrics 12, 307-310 (from memory).
    """
    known = Moments.of(families)
    variances = known.pooled_variance / known.n
    return tuple(
        _range_pair(known, earlier, later, variances, known.pooled_degrees_of_freedom, "Tukey")
        for earlier, later in combinations(range(known.n.size), 2)
    )


def games_howell(families: Families) -> tuple[RangePair, ...]:
    """Answer which of several families differ, each pair, when their spreads may differ.

    Parameters
    ----------
    families : mapping of str to array_like or Summary
        As for `tukey`, at least two blocks a family, each family with some spread.

    References
    ----------
    Games, P. A., Howell, J. F. (1976). Pairwise multiple comparison procedures with unequal n's
    and/or variances. Journal of Educational Statistics 1, 113-125 (from memory).
    """
    known = Moments.of(families, least=2)
    variances = known.own_variances / known.n
    parts = variances**2 / (known.n - 1)
    pairs = []
    for earlier, later in combinations(range(known.n.size), 2):
        df = (variances[earlier] + variances[later]) ** 2 / (parts[earlier] + parts[later])
        pairs.append(_range_pair(known, earlier, later, variances, float(df), "Games-Howell"))
    return tuple(pairs)


def dunnett(families: Families, reference: str) -> tuple[ReferencePair, ...]:
    """Answer which of several candidates differ from one reference, when spreads are alike.

    Parameters
    ----------
    families : mapping of str to array_like or Summary
        All families, the reference among them; unequal counts allowed, exact for them.
    reference : str
        The name of the reference.

    Returns
    -------
    tuple of ReferencePair
        Candidate minus reference, in the order given. Deterministic: no random integration.

    Raises
    ------
    Refusal
        `unknown_family` for a reference that is not among the families; else as `tukey`.

    References
    ----------
    Dunnett, C. W. (1955). A multiple comparison procedure for comparing several treatments with a
    control. Journal of the American Statistical Association 50, 1096-1121.

    Examples
    --------
    >>> blood = {"control": [7.40, 8.50, 7.20, 8.24, 9.84, 8.32],
    ...          "A": [9.76, 8.80, 7.68, 9.36], "B": [12.80, 9.68, 12.16, 9.20, 10.55]}
    >>> [round(pair.p_value(), 4) for pair in dunnett(blood, "control")]
    [0.6201, 0.0058]
    """
    known = Moments.of(families)
    if reference not in known.names:
        raise Refusal(
            "unknown_family", f"{reference!r} is not among the families {list(known.names)}."
        )
    at = known.names.index(reference)
    candidates = [place for place in range(known.n.size) if place != at]
    loadings = tuple(math.sqrt(float(known.n[j] / (known.n[j] + known.n[at]))) for j in candidates)
    return tuple(
        ReferencePair(
            candidate=known.names[j],
            reference=reference,
            estimate=float(known.mean[j] - known.mean[at]),
            standard_error=math.sqrt(known.pooled_variance * (1 / known.n[j] + 1 / known.n[at])),
            degrees_of_freedom=known.pooled_degrees_of_freedom,
            method="Dunnett",
            loadings=loadings,
        )
        for j in candidates
    )


def _range_pair(
    known: Moments, earlier: int, later: int, variances: Values, df: float, method: str
) -> RangePair:
    return RangePair(
        candidate=known.names[later],
        reference=known.names[earlier],
        estimate=float(known.mean[later] - known.mean[earlier]),
        standard_error=math.sqrt(float(variances[earlier] + variances[later])),
        degrees_of_freedom=df,
        method=method,
        families=int(known.n.size),
    )


def _around(pair: Pair, reach: float, confidence: float) -> Interval:
    half = reach * pair.standard_error
    return Interval(low=pair.estimate - half, high=pair.estimate + half, confidence=confidence)
