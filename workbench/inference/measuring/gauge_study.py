"""What a gauge study found: how much of the spread is gauge, how much person, how much parts."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from workbench.errors import Refusal
from workbench.inference.admissible import positive
from workbench.inference.nested.crossed_fit import RESIDUAL, CrossedFit
from workbench.inference.nested.mean_squares import (
    MeanSquare,
    combination_interval,
    generalized_interval,
)
from workbench.inference.results import Interval
from workbench.inference.samples import Values

PART, OPERATOR, INTERACTION = "part", "operator", "part by operator"
REPEATABILITY, REPRODUCIBILITY, GAUGE, TOTAL = (
    "repeatability",
    "reproducibility",
    "gauge",
    "total",
)
FINE_STEP = 0.6  # a tenth of six standard deviations: common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolution:
    """The step of a display against the spread of readings.

    `rounding_share` is what rounding alone (step^2 / 12) makes of the total variance. A step wider
    than about twice the repeatability hides it: repeats then show one value, and the repeatability
    found is too small.
    """

    step: float
    to_repeatability: float
    to_total: float
    rounding_share: float

    @property
    def fine(self) -> bool:
        """Whether the step is at most a tenth of six total standard deviations."""
        return self.to_total <= FINE_STEP


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeStudy:
    """Variance components of a gauge study.

    A figure is one of the components met (`part`, `operator`, `part by operator`,
    `repeatability`) or a sum of them: `reproducibility` (what operators add), `gauge`
    (repeatability and reproducibility), `total`.

    Attributes
    ----------
    components
        Variances; a negative difference of mean squares counts as 0 and is named in `negative`.
    mean_squares
        Lines of the analysis of variance; empty when the study is not balanced.
    interaction_p
        Of the test of the interaction; NaN where there is none. `pooled` tells whether the
        interaction was counted as repeatability because of it.
    terms
        Weights of the mean squares in each component of a balanced study.
    fit
        The likelihood fit of a study that is not balanced.
    """

    components: dict[str, float]
    negative: tuple[str, ...]
    mean_squares: dict[str, MeanSquare]
    terms: dict[str, dict[str, float]]
    interaction_p: float
    pooled: bool
    method: str
    parts: int
    operators: int
    readings: int
    fit: CrossedFit | None

    def variance(self, figure: str) -> float:
        """Give the variance of a figure."""
        return sum(self.components[name] for name in self._made_of(figure))

    def sd(self, figure: str) -> float:
        """Give the standard deviation of a figure, in the unit of the readings."""
        return math.sqrt(self.variance(figure))

    def share(self, figure: str) -> float:
        """Give the share of a figure in the total variance; shares add up, those of sd do not."""
        return self.variance(figure) / self.variance(TOTAL)

    def interval(self, figure: str, confidence: float = 0.95) -> Interval:
        """Give the interval of the standard deviation of a figure."""
        names = self._made_of(figure)
        if self.fit is not None:
            variance = self.fit.interval(_fitted(names), confidence)
        else:
            weights = self._weights(names)
            variance = combination_interval(
                [(weight, self.mean_squares[line]) for line, weight in weights.items()], confidence
            )
        return Interval(
            low=math.sqrt(max(0.0, variance.low)),
            high=math.sqrt(max(0.0, variance.high)),
            confidence=confidence,
        )

    def share_interval(
        self, figure: str, confidence: float = 0.95, *, generator: np.random.Generator
    ) -> Interval:
        """Give the interval of the share of a figure in the total variance.

        Generalized (simulated with `generator`) for a balanced study, profile otherwise.
        """
        names = self._made_of(figure)
        if len(names) == len(self.components):
            raise Refusal("bad_share", "The total is the whole variance; it has no share.")
        if self.fit is not None:
            return self.fit.share_interval(_fitted(names), confidence)

        def share(drawn: Mapping[str, Values]) -> Values:
            each = {
                name: np.maximum(0.0, sum(c * drawn[line] for line, c in terms.items()))
                for name, terms in self.terms.items()
            }
            return np.asarray(sum(each[name] for name in names) / sum(each.values()))

        return generalized_interval(
            self.mean_squares, share, generator=generator, confidence=confidence
        )

    def categories(self) -> float:
        """Give how many kinds of parts the gauge tells apart: root 2 times part over gauge sd.

        Common practice takes the whole number below it and wants five. It depends on the method of
        the study: from ranges instead of an analysis of variance the number can differ by one.
        """
        gauge = self.sd(GAUGE)
        return math.sqrt(2) * self.sd(PART) / gauge if gauge > 0 else math.inf

    def resolution(self, step: float) -> Resolution:
        """Set the step of the display against the spreads that were found."""
        positive("The step", step)
        return Resolution(
            step=step,
            to_repeatability=step / self.sd(REPEATABILITY) if self.sd(REPEATABILITY) else math.inf,
            to_total=step / self.sd(TOTAL),
            rounding_share=min(1.0, step**2 / 12 / self.variance(TOTAL)),
        )

    def _made_of(self, figure: str) -> tuple[str, ...]:
        sums = {
            REPRODUCIBILITY: (OPERATOR, INTERACTION),
            GAUGE: (OPERATOR, INTERACTION, REPEATABILITY),
            TOTAL: (PART, OPERATOR, INTERACTION, REPEATABILITY),
        }
        names = tuple(n for n in sums.get(figure, (figure,)) if n in self.components)
        if not names:
            raise Refusal(
                "unknown_component",
                f"This study has {', '.join(self.components)}, not {figure}.",
            )
        return names

    def _weights(self, names: tuple[str, ...]) -> dict[str, float]:
        weights: dict[str, float] = {}
        for name in names:
            for line, c in self.terms[name].items():
                weights[line] = weights.get(line, 0.0) + c
        return {line: c for line, c in weights.items() if abs(c) > 1e-12}


def _fitted(names: tuple[str, ...]) -> list[str]:
    return [RESIDUAL if name == REPEATABILITY else name for name in names]
