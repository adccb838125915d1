"""Are block effects normal, and bores within blocks, and places within bores."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtr

from workbench.errors import Refusal
from workbench.inference.distributions.edf import (
    anderson_darling,
    cramer_von_mises,
    kolmogorov_smirnov,
)
from workbench.inference.distributions.goodness import LABELS, FitTest, share_as_far
from workbench.inference.nested.parts import Decomposition, decomposed
from workbench.inference.nested.squares import nested_squares
from workbench.inference.normal_plot import (
    NormalPlot,
    even_band,
    plotting_positions,
    ranks_shown,
)
from workbench.inference.results import check_confidence

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

FEWEST = 8
MOST_VALUES = 3_000
AT_ONCE = 1_000_000
STATISTICS = ("anderson-darling", "cramer-von-mises", "kolmogorov-smirnov")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelNormality:
    """Deviations at one level, standardised, and how far they are from normal ones.

    `standardised` are what was tested; `plot` sets them against normal quantiles, with a band that
    normal effects so grouped and rounded stay inside as a whole; `of` is how many there were.
    """

    level: str
    standardised: Values
    plot: NormalPlot
    of: int
    tests: tuple[FitTest, ...]
    replicates: int


def nested_normality(
    data: pd.DataFrame,
    *,
    seed: int,
    step: float = 0.0,
    response: str = "value",
    block: str = "block",
    bore: str | None = "bore",
    place: str | None = "place",
    replicates: int = 2000,
    confidence: float = 0.95,
) -> dict[str, LevelNormality]:
    """Answer whether the nested model's effects are normal, level by level.

    Block means about their mean, bore means about those of their blocks, places about their bores
    and the pattern; each divided by the spread the model expects of it. Normal samples are drawn
    with the same groups, taken apart the same way (places rounded to the gauge's step first), and
    compared.

    Parameters
    ----------
    data, response, block, bore, place
        As in `squares.nested_squares`.
    seed : int
    step : float
        The gauge's step; 0 for values that were not rounded.
    replicates : int
    confidence : float
        Of the band of each plot.

    Returns
    -------
    dict of str to LevelNormality
        By level, "block", "bore" and "place"; those with fewer than eight values are left out. Of
        more than `MOST_VALUES` values the first whole groups are tested.

    Raises
    ------
    Refusal
        As `nested_squares`; `too_few` where no level has enough values.
    """
    check_confidence(confidence)
    parts = decomposed(data, response=response, block=block, bore=bore, place=place)
    spread = nested_squares(data, response=response, block=block, bore=bore, place=place).variances
    generator = np.random.default_rng(seed)
    found = {}
    for level, sample in _levels(parts, spread, step).items():
        if sample.size >= FEWEST and sample.deviation > 0:
            found[level] = _judged(
                level, sample.cut(), sample.size, generator, replicates, confidence
            )
    if not found:
        raise Refusal(
            "too_few", f"No level has {FEWEST} deviations; normality cannot be looked at."
        )
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Level:
    """Values with their expected deviations, and the group whose mean was taken off each."""

    about: Values
    deviations: Values
    groups: Codes
    step: float

    @property
    def size(self) -> int:
        return self.about.size

    @property
    def deviation(self) -> float:
        return float(self.deviations.max())

    def cut(self) -> _Level:
        """Keep the first whole groups of at most `MOST_VALUES` values."""
        if self.size <= MOST_VALUES:
            return self
        ends = np.cumsum(np.bincount(self.groups))
        kept = self.groups < max(1, int((ends <= MOST_VALUES).sum()))
        return _Level(
            about=self.about[kept],
            deviations=self.deviations[kept],
            groups=self.groups[kept],
            step=self.step,
        )

    def about_groups(self, drawn: Values) -> Values:
        """Take each group's mean off, and divide by what is then expected."""
        sizes = np.bincount(self.groups)
        order = np.argsort(self.groups, kind="stable")
        first = np.concatenate([[0], np.cumsum(sizes)[:-1]])
        sums = np.add.reduceat(drawn[:, order], first, axis=1)
        left: Values = drawn - (sums / sizes)[:, self.groups]
        return left / self.expected

    @property
    def expected(self) -> Values:
        """The deviation expected of a value after its group's mean is taken off."""
        sizes = np.bincount(self.groups)[self.groups]
        alone = np.maximum(1 - 1 / sizes, 1e-9)
        rest: Values = self.deviations * np.sqrt(alone)
        return rest


def _levels(parts: Decomposition, spread: dict[str, float], step: float) -> dict[str, _Level]:
    places = np.bincount(parts.place_bore).astype(float)
    bores = np.bincount(parts.bore_block).astype(float)
    of_bore = spread["bore"] + spread["place"] / places
    of_block = spread["block"] + np.bincount(parts.bore_block, of_bore) / bores**2
    about = parts.bore_means - parts.block_means[parts.bore_block]
    paired = bores[parts.bore_block] > 1
    levels = {
        "block": _Level(
            about=parts.block_means - parts.block_means.mean(),
            deviations=np.sqrt(of_block),
            groups=np.zeros(len(bores), dtype=np.int64),
            step=0.0,
        ),
        "bore": _Level(
            about=about[paired],
            deviations=np.sqrt(of_bore[paired]),
            groups=np.unique(parts.bore_block[paired], return_inverse=True)[1],
            step=0.0,
        ),
    }
    several = places[parts.place_bore] > 1
    if parts.residual_df > 0:
        order = np.argsort(parts.place_bore[several], kind="stable")
        levels["place"] = _Level(
            about=parts.residuals[several][order],
            deviations=np.full(int(several.sum()), np.sqrt(spread["place"])),
            groups=np.unique(parts.place_bore[several][order], return_inverse=True)[1],
            step=step,
        )
    return levels


def _judged(
    level: str,
    sample: _Level,
    of_values: int,
    generator: np.random.Generator,
    replicates: int,
    confidence: float,
) -> LevelNormality:
    standard = sample.about / sample.expected
    ordered = _ordered(standard[None])
    observed = _distances(ordered)
    ranks = ranks_shown(standard.size)
    at_ranks: list[Values] = []
    far: dict[str, list[Values]] = {name: [] for name in STATISTICS}
    each = max(1, AT_ONCE // standard.size)
    for at in range(0, replicates, each):
        some = min(each, replicates - at)
        drawn = generator.standard_normal((some, standard.size)) * sample.deviations
        if sample.step > 0:  # a bore's mean lies anywhere between two steps
            phase = generator.uniform(0, sample.step, (some, int(sample.groups.max()) + 1))
            offset = phase[:, sample.groups]
            drawn = np.round((drawn + offset) / sample.step) * sample.step - offset
        z = _ordered(sample.about_groups(drawn))
        at_ranks.append(z[:, ranks])
        for name, values in _distances(z).items():
            far[name].append(values)
    low, high = even_band(np.concatenate(at_ranks), confidence)
    return LevelNormality(
        level=level,
        standardised=standard,
        plot=NormalPlot(
            theoretical=plotting_positions(ranks, standard.size),
            ordered=ordered[0, ranks],
            low=low,
            high=high,
            mean=0.0,
            sd=1.0,
            n=standard.size,
            confidence=confidence,
        ),
        of=of_values,
        tests=tuple(
            FitTest(
                name=name,
                label=LABELS[name],
                statistic=float(observed[name][0]),
                p_value=share_as_far(observed[name][0], np.concatenate(far[name])),
            )
            for name in STATISTICS
        ),
        replicates=replicates,
    )


def _ordered(values: Values) -> Values:
    """Give each row about its own mean, in its own deviations, in rising order."""
    mean = values.mean(axis=1, keepdims=True)
    return np.sort((values - mean) / values.std(axis=1, ddof=1, keepdims=True), axis=1)


def _distances(z: Values) -> dict[str, Values]:
    """Give the distances from the standard normal of rows in rising order."""
    below = ndtr(z)
    found = (anderson_darling(below, ndtr(-z)), cramer_von_mises(below), kolmogorov_smirnov(below))
    return dict(zip(STATISTICS, found, strict=True))
