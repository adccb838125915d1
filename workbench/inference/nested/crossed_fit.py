"""Variance components of readings under several chance factors, crossed or not, balanced or not.

Maximum likelihood, restricted or full, for a model with one mean and independent random effects of
each factor. Work grows with the number of levels, not of readings: only counts and sums per level
enter. Meant for gauge studies (tens of parts and operators); families of blocks have `nested_fit`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtri

from workbench.errors import Refusal
from workbench.inference.admissible import paired
from workbench.inference.nested.crossed_likelihood import Sums, curved_at, parts_at, sums_of
from workbench.inference.nested.crossed_profile import Profile, least_at
from workbench.inference.nested.profile_ends import ends
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import clean_values

RESIDUAL = "residual"
AT_NOTHING = 1e-8  # a component below this share of the residual is called 0
LEAST_REST = 1e-9  # of the whole variance: the others are taken to have no less
LEAST_END = 1e-4  # a lower end below this share of its estimate is called 0
UNIT = 1e-3  # of the whole variance: an estimate below it counts as that much there


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossedFit:
    """The fitted components; `variances` by factor, and `residual`.

    `boundary` names the components that came out at 0. `criterion` is -2 times the (restricted)
    log-likelihood.
    """

    variances: dict[str, float]
    mean: float
    mean_standard_error: float
    criterion: float
    restricted: bool
    boundary: tuple[str, ...]
    sums: Sums = field(repr=False, compare=False)

    def interval(self, names: Sequence[str], confidence: float = 0.95) -> Interval:
        """Give the profile-likelihood interval of the variance of `names` together.

        The ends are where the criterion, the rest being fitted again, lies above its least by the
        chi-square point on one degree of freedom. The lower end is 0 where 0 is not contradicted.
        """
        check_confidence(confidence)
        chosen = self._chosen(names)
        fitted = np.array(list(self.variances.values()))
        rise = float(chdtri(1, 1 - confidence))
        profile = Profile(
            lambda variances: curved_at(self.sums, variances, self.restricted),
            fitted,
            self.criterion + rise,
        )
        low, high = ends(
            lambda value: profile.above([(chosen, value)]),
            float(fitted[chosen].sum()),
            rise,
            least=LEAST_END * max(float(fitted[chosen].sum()), UNIT * float(fitted.sum())),
        )
        return Interval(low=low, high=high, confidence=confidence)

    def share_interval(self, names: Sequence[str], confidence: float = 0.95) -> Interval:
        """Give the profile-likelihood interval of the share of `names` in the whole variance."""
        check_confidence(confidence)
        chosen = self._chosen(names)
        if bool(np.all(chosen)):
            raise Refusal("bad_share", "All components together are the whole variance.")
        fitted = np.array(list(self.variances.values()))
        fitted, rise = fitted / fitted.sum(), float(chdtri(1, 1 - confidence))
        profile = Profile(
            lambda variances: curved_at(self.sums, variances, self.restricted, scaled=True),
            fitted,
            self.criterion + rise,
        )
        low, high = ends(
            lambda share: profile.above([(chosen, share), (~chosen, max(1 - share, LEAST_REST))]),
            float(fitted[chosen].sum()),
            rise,
            least=LEAST_END * max(float(fitted[chosen].sum()), UNIT),
            limit=1.0,
        )
        return Interval(low=low, high=high, confidence=confidence)

    def _chosen(self, names: Sequence[str]) -> np.ndarray:
        unknown = [name for name in names if name not in self.variances]
        if unknown or not names:
            raise Refusal(
                "unknown_component",
                f"The components are {', '.join(self.variances)}; not {unknown or 'none'}.",
            )
        return np.array([name in names for name in self.variances])


def crossed_fit(
    factors: Mapping[str, ArrayLike],
    values: ArrayLike,
    *,
    criterion: Literal["reml", "ml"] = "reml",
) -> CrossedFit:
    """Fit variance components of one mean, the random `factors` and what is left.

    Parameters
    ----------
    factors
        Labels of each factor, one a reading. An interaction is a factor of joined labels; a nested
        factor likewise.
    values
        The readings.
    criterion
        "reml" (the degree of freedom of the mean taken off) or "ml".

    Raises
    ------
    Refusal
        `too_few`, `unequal_lengths`, `one_level` (a factor with a single level, or with as many
        levels as readings), `zero_spread`, or those of `samples.clean_values`.
    """
    y = clean_values(values, least=3, name="the row of readings")
    codes = {}
    for name, labels in factors.items():
        column = np.asarray(labels)
        paired(f"Labels of {name}", column, "readings", y)
        levels, codes[name] = np.unique(column, return_inverse=True)
        if not 1 < levels.size < y.size:
            raise Refusal(
                "one_level",
                f"{name} has {levels.size} levels in {y.size} readings; a variance between levels "
                "needs two or more, some of them read again.",
            )
    if np.ptp(y) == 0:
        raise Refusal("zero_spread", f"All {y.size} readings are equal: there is no spread.")
    return _fit(tuple(codes), sums_of(list(codes.values()), y), criterion == "reml")


def _fit(names: tuple[str, ...], sums: Sums, restricted: bool) -> CrossedFit:
    start = np.ones(len(names) + 1)
    found = least_at(
        lambda variances: curved_at(sums, variances, restricted, scaled=True),
        [(np.ones(start.size, dtype=bool), 1.0)],
        start,
    )
    ratios = found[:-1] / found[-1]
    ratios[ratios < AT_NOTHING] = 0.0
    parts = parts_at(sums, ratios)
    residual = parts.rest / (sums.n - restricted)
    variances = np.append(ratios, 1.0) * residual
    return CrossedFit(
        variances=dict(zip((*names, RESIDUAL), variances.tolist(), strict=True)),
        mean=sums.centre + parts.of_both / parts.of_mean,
        mean_standard_error=math.sqrt(residual / parts.of_mean),
        criterion=curved_at(sums, variances, restricted)[0],
        restricted=restricted,
        boundary=tuple(name for name, ratio in zip(names, ratios, strict=True) if ratio == 0),
        sums=sums,
    )
