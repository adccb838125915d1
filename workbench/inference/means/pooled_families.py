"""Two families set against each other when one, or both, are known from printed tables alone."""

from __future__ import annotations

import math

from workbench.errors import Refusal
from workbench.inference.means.pooling import Pooled
from workbench.inference.means.welch import Summary
from workbench.inference.results import Difference


def pooled_difference(candidate: Pooled | Summary, reference: Pooled | Summary) -> Difference:
    """Answer how far two families lie apart, each known from its own sources.

    Parameters
    ----------
    candidate, reference : Pooled or Summary
        A family pooled over several sources' means, or one printed count, mean and standard
        deviation of block means. Sources of one family are not sources of the other; where a source
        gives both families, pool its differences instead: what the source does to both falls out.

    Returns
    -------
    Difference
        Variances add; degrees of freedom after Welch and Satterthwaite, a pooled family having one
        less than its sources. With two summaries it is Welch's analysis.

    Raises
    ------
    Refusal
        `too_few` for a summary of one block; `shared_source` where a source is named in both.

    Examples
    --------
    >>> found = pooled_difference(Summary(n=4, mean=9.8, sd=0.4), Summary(n=9, mean=9.1, sd=0.3))
    >>> f"{found.estimate:.2f}, {found.degrees_of_freedom:.1f} df"
    '0.70, 4.6 df'
    """
    _check_sources(candidate, reference)
    means, variances, freedoms = zip(
        *(_known(family) for family in (candidate, reference)), strict=True
    )
    variance = sum(variances)
    if variance == 0:
        raise Refusal("no_standard_error", "Neither family shows any spread, so nothing is known.")
    spread = sum(own**2 / df for own, df in zip(variances, freedoms, strict=True))
    pooled = any(isinstance(family, Pooled) for family in (candidate, reference))
    return Difference(
        estimate=means[0] - means[1],
        standard_error=math.sqrt(variance),
        degrees_of_freedom=variance**2 / spread,
        method="Welch, families pooled over sources" if pooled else "Welch",
    )


def _known(family: Pooled | Summary) -> tuple[float, float, int]:
    if isinstance(family, Pooled):
        return family.estimate, family.adjusted_error**2, family.degrees_of_freedom
    if family.n < 2:
        raise Refusal("too_few", f"A summary of {family.n} block shows no spread; 2 are needed.")
    return family.mean, family.sd**2 / family.n, family.n - 1


def _check_sources(*families: Pooled | Summary) -> None:
    names = [
        {source.name for source in family.sources} if isinstance(family, Pooled) else set()
        for family in families
    ]
    both = sorted(names[0] & names[1])
    if both:
        raise Refusal(
            "shared_source",
            f"{', '.join(both)} is a source of both families; pool the differences such sources "
            "give.",
        )
