"""Several means at once: the one-way analysis of variance, with equal and with unequal spreads."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import fdtrc

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary
from workbench.inference.samples import check_number_of_families, clean_values, summarised

Values = NDArray[np.float64]
Families = Mapping[str, ArrayLike | Summary]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moments:
    """Count, mean less `origin` and sum of squares about the mean, of each named family.

    The origin is one of the values, so that large values close together lose no digits.
    """

    names: tuple[str, ...]
    n: Values
    mean: Values
    ss: Values
    origin: float

    @classmethod
    def of(cls, families: Families, *, least: int = 1) -> Moments:
        """Take the moments of two or more families of at least `least` values each."""
        check_number_of_families(len(families))
        origin, rows = None, []
        for name, family in families.items():
            said = f"family {name!r}"
            if isinstance(family, Summary):
                known = summarised(family, least=least, name=said)
                origin = known.mean if origin is None else origin
                rows.append((known.n, known.mean - origin, (known.n - 1) * known.sd**2))
            else:
                values = clean_values(family, least=least, name=said)
                origin = float(values[0]) if origin is None else origin
                apart = values - origin
                mean = math.fsum(apart) / apart.size
                rows.append((apart.size, mean, math.fsum((apart - mean) ** 2)))
        n, mean, ss = np.array(rows, dtype=float).T
        return cls(names=tuple(families), n=n, mean=mean, ss=ss, origin=float(origin or 0.0))

    @property
    def pooled_degrees_of_freedom(self) -> float:
        """Values less families; refused when 0, or when no family shows any spread."""
        df = float(self.n.sum() - self.n.size)
        if df == 0:
            raise Refusal("too_few", "Every family holds a single value: nothing shows the spread.")
        if not self.ss.any():
            raise Refusal("zero_spread", "No family shows any spread, so nothing is known.")
        return df

    @property
    def pooled_variance(self) -> float:
        """The spread within families, all taken as alike, as a variance."""
        return math.fsum(self.ss) / self.pooled_degrees_of_freedom

    @property
    def own_variances(self) -> Values:
        """Each family's own variance; refused where a family shows none."""
        for name, n, ss in zip(self.names, self.n, self.ss, strict=True):
            if n < 2 or ss == 0:
                raise Refusal("zero_spread", f"Family {name!r} shows no spread of its own.")
        return self.ss / (self.n - 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class OneWay:
    """Spread between families against spread within: F, its two degrees of freedom, and p.

    For the analysis with equal spreads the sums of squares are given; with unequal ones they have
    no meaning and are NaN.
    """

    statistic: float
    between_degrees_of_freedom: float
    within_degrees_of_freedom: float
    ss_between: float
    ss_within: float
    method: str

    @property
    def p_value(self) -> float:
        """The p against 'all means are equal'."""
        return float(
            fdtrc(self.between_degrees_of_freedom, self.within_degrees_of_freedom, self.statistic)
        )

    @property
    def residual_sd(self) -> float:
        """The standard deviation within families."""
        return math.sqrt(self.ss_within / self.within_degrees_of_freedom)

    @property
    def share_between(self) -> float:
        """The share of the whole sum of squares that lies between families (R squared)."""
        return self.ss_between / (self.ss_between + self.ss_within)


def one_way(families: Families) -> OneWay:
    """Answer whether several families have one mean, when their spreads are alike.

    Parameters
    ----------
    families : mapping of str to array_like or Summary
        One number a block, or printed count, mean and standard deviation; two or more families.

    Raises
    ------
    Refusal
        `too_few_families`, `too_few`, `not_finite`, `zero_spread`.

    References
    ----------
    Fisher, R. A. (1925). Statistical Methods for Research Workers, chapter 7 (from memory).

    Examples
    --------
    >>> found = one_way({"a": [6.9, 5.4, 5.8, 4.6, 4.0], "b": [8.3, 6.8, 7.8, 9.2, 6.5],
    ...                  "c": [8.0, 10.5, 8.1, 6.9, 9.3]})
    >>> f"F = {found.statistic:.2f}"
    'F = 9.59'
    """
    known = Moments.of(families)
    df = known.pooled_degrees_of_freedom
    grand = math.fsum(known.n * known.mean) / math.fsum(known.n)
    between = math.fsum(known.n * (known.mean - grand) ** 2)
    return OneWay(
        statistic=between / (known.n.size - 1) / known.pooled_variance,
        between_degrees_of_freedom=known.n.size - 1,
        within_degrees_of_freedom=df,
        ss_between=between,
        ss_within=math.fsum(known.ss),
        method="one-way, spreads alike",
    )


def welch_one_way(families: Families) -> OneWay:
    """Answer whether several families have one mean, when their spreads may differ.

    Parameters
    ----------
    families : mapping of str to array_like or Summary
        As for `one_way`, at least two blocks a family.

    Raises
    ------
    Refusal
        `zero_spread` when a family shows none; else as `one_way`.

    References
    ----------
    Welch, B. L. (1951). On the comparison of several mean values: an alternative approach.
    Biometrika 38, 330-336 (from memory).
    """
    known = Moments.of(families, least=2)
    weights, k = known.n / known.own_variances, known.n.size
    share = weights / weights.sum()
    spread = float(((1 - share) ** 2 / (known.n - 1)).sum())
    between = float((weights * (known.mean - share @ known.mean) ** 2).sum()) / (k - 1)
    return OneWay(
        statistic=between / (1 + 2 * (k - 2) / (k**2 - 1) * spread),
        between_degrees_of_freedom=k - 1,
        within_degrees_of_freedom=(k**2 - 1) / (3 * spread),
        ss_between=math.nan,
        ss_within=math.nan,
        method="one-way after Welch",
    )
