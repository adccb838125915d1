"""Propagate distributions through a model by Monte Carlo (JCGM 101), and compare with the formula.

The formula of JCGM 100 takes the model as straight and the result as normal or t. Monte Carlo does
neither. Where the two part by more than the digits that are reported, the formula is not to be
used for that result, and `compare` says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from workbench.errors import Refusal
from workbench.inference.admissible import finite
from workbench.inference.measuring.budget import Budget, Component
from workbench.inference.measuring.input_quantity import (
    Arcsine,
    InputQuantity,
    Normal,
    NormalErrors,
    Rectangular,
    Triangular,
)
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import Values

LEAST_TRIALS = 10_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Propagation:
    """The result of every trial, in rising order."""

    values: Values = field(repr=False)

    @property
    def mean(self) -> float:
        """The estimate: mean of all trials."""
        return float(self.values.mean())

    @property
    def standard_uncertainty(self) -> float:
        """Standard deviation of all trials."""
        return float(self.values.std(ddof=1))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval with equal probability left out on either side (7.7.2)."""
        covered = self._covered(confidence)
        first = (self.values.size - covered) // 2
        return Interval(
            low=float(self.values[first]),
            high=float(self.values[first + covered]),
            confidence=confidence,
        )

    def shortest(self, confidence: float = 0.95) -> Interval:
        """Give the shortest interval (7.7.4): for a lopsided result the fairer one."""
        covered = self._covered(confidence)
        lengths = self.values[covered:] - self.values[: self.values.size - covered]
        first = int(np.argmin(lengths))
        return Interval(
            low=float(self.values[first]),
            high=float(self.values[first + covered]),
            confidence=confidence,
        )

    def numerical_error(self, confidence: float = 0.95) -> float:
        """Give the standard error that the number of trials puts on the worse end of `interval`."""
        trials, tail = self.values.size, (1 - confidence) / 2
        reach = max(1, round(math.sqrt(trials * tail * (1 - tail))))
        first = (trials - self._covered(confidence)) // 2
        errors = [
            self.values[min(trials - 1, place + reach)] - self.values[max(0, place - reach)]
            for place in (first, trials - 1 - first)
        ]
        return float(max(errors)) / 2

    def _covered(self, confidence: float) -> int:
        check_confidence(confidence)
        covered = int(confidence * self.values.size + 0.5)
        if covered >= self.values.size - 1:
            raise Refusal(
                "too_few_trials",
                f"{self.values.size} trials are too few for an interval at {confidence:g}.",
            )
        return covered


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Formula against Monte Carlo (JCGM 101, clause 8).

    `low_gap` and `high_gap` are how far the ends of the two intervals lie apart, `tolerance` half
    a unit in the last reported digit of the standard uncertainty, `numerical_error` the standard
    error of the ends by the number of trials. `agree` tells whether both gaps are within the
    tolerance, `settled` whether the wider gap is further from it than twice the numerical error:
    otherwise other draws could answer differently, and more trials are needed.
    """

    low_gap: float
    high_gap: float
    tolerance: float
    numerical_error: float

    @property
    def agree(self) -> bool:
        """Whether the formula gives the same answer to the reported digits."""
        return max(self.low_gap, self.high_gap) <= self.tolerance

    @property
    def settled(self) -> bool:
        """Whether there were trials enough to tell."""
        gap = max(self.low_gap, self.high_gap)
        return abs(gap - self.tolerance) > 2 * self.numerical_error


def propagate(
    model: Callable[..., Values],
    inputs: Mapping[str, InputQuantity],
    *,
    generator: np.random.Generator,
    trials: int = 200_000,
    correlations: tuple[tuple[str, str, float], ...] = (),
) -> Propagation:
    """Draw all inputs `trials` times and work out the model each time.

    Parameters
    ----------
    model
        Called once, with one array a named input; gives an array of results.
    inputs
        The distribution of each input, by the name the model has for it.
    generator
        Source of the draws; seed it to get the same answer again.
    trials
        At least 10 000; JCGM 101 (7.2.2) calls 1 000 000 enough for 95 % to two digits.
    correlations
        (name, name, coefficient) between normal inputs (6.4.8).

    Raises
    ------
    Refusal
        `too_few_trials`, `bad_correlation`, `bad_model` (not one finite number a trial).
    """
    if trials < LEAST_TRIALS:
        raise Refusal(
            "too_few_trials", f"A propagation needs {LEAST_TRIALS} trials or more, not {trials}."
        )
    drawn = _drawn_together(inputs, correlations, generator, trials)
    for name, quantity in inputs.items():
        if name not in drawn:
            drawn[name] = quantity.draw(generator, trials)
    results = np.asarray(model(**drawn), dtype=float)
    if results.shape != (trials,) or not bool(np.all(np.isfinite(results))):
        raise Refusal(
            "bad_model", f"The model must give one finite number for each of {trials} trials."
        )
    return Propagation(values=np.sort(results))


def propagate_budget(
    budget: Budget,
    estimate: float = 0.0,
    *,
    generator: np.random.Generator,
    trials: int = 200_000,
) -> Propagation:
    """Propagate the distributions of a budget's components about `estimate`.

    A normal component with finite degrees of freedom is drawn as a scaled t (6.4.9), whose
    standard deviation is larger than the standard uncertainty of the formula: for few readings the
    two then part, rightly. Degrees of freedom of bounded components are not used.
    """
    finite("The estimate", estimate)
    live = [component for component in budget.components if component.contribution != 0]
    normal = [component for component in live if component.distribution == "normal"]
    inputs: dict[str, InputQuantity] = {
        f"bounded {place}": _bounded(component)
        for place, component in enumerate(live)
        if component.distribution != "normal"
    }
    if normal:
        inputs["normal"] = _together(normal, {c.name for c in live}, budget.correlations)

    def straight(**drawn: Values) -> Values:
        total = np.full(trials, float(estimate))
        for values in drawn.values():
            total += values
        return total

    return propagate(straight, inputs, generator=generator, trials=trials)


def compare(
    result: Propagation, formula: Interval, standard_uncertainty: float, *, digits: int = 2
) -> Comparison:
    """Compare the interval of the formula with that of Monte Carlo, to `digits` of u.

    `formula` and `standard_uncertainty` are the interval and the combined standard uncertainty of
    the formula; the Monte Carlo interval is taken at the same confidence, with equal tails.

    Raises
    ------
    Refusal
        `bad_digits` unless 1 or 2 digits are asked for, or those of `Propagation.interval`.
    """
    if digits not in (1, 2):
        raise Refusal("bad_digits", f"A standard uncertainty is reported to 1 or 2, not {digits}.")
    simulated = result.interval(formula.confidence)
    return Comparison(
        low_gap=abs(formula.low - simulated.low),
        high_gap=abs(formula.high - simulated.high),
        tolerance=_half_unit(standard_uncertainty, digits),
        numerical_error=result.numerical_error(formula.confidence),
    )


def _half_unit(u: float, digits: int) -> float:
    """Half a unit in the last of `digits` digits of u, u being rounded first (7.9.2)."""
    if not (u > 0 and math.isfinite(u)):
        raise Refusal("bad_uncertainty", f"The standard uncertainty must be above 0, not {u}.")
    exponent = int(f"{u:.{digits - 1}e}".split("e")[1])
    return 0.5 * 10.0 ** (exponent - digits + 1)


def _bounded(component: Component) -> InputQuantity:
    """Give what a bounded component puts on the result, about nought."""
    half = abs(component.sensitivity) * component.stated
    if component.distribution == "rectangular":
        return Rectangular(low=-half, high=half)
    if component.distribution == "triangular":
        return Triangular(low=-half, high=half)
    return Arcsine(low=-half, high=half)


def _together(
    normal: Sequence[Component], live: set[str], correlations: Sequence[tuple[str, str, float]]
) -> NormalErrors:
    """Give what normal components put on the result together, about nought."""
    known = tuple(c for c in normal if math.isinf(c.degrees_of_freedom))
    joined = tuple(pair for pair in correlations if live.issuperset(pair[:2]))
    for name in sorted({name for pair in joined for name in pair[:2]} - {c.name for c in known}):
        raise _not_normal(name)
    return NormalErrors(
        mean=0.0,
        known=Budget(components=known, correlations=joined).combined if known else 0.0,
        few=tuple(
            (abs(c.contribution), c.degrees_of_freedom)
            for c in normal
            if math.isfinite(c.degrees_of_freedom)
        ),
    )


def _not_normal(name: str) -> Refusal:
    return Refusal("bad_correlation", f"Only normal inputs may be correlated, not “{name}”.")


def _drawn_together(
    inputs: Mapping[str, InputQuantity],
    correlations: tuple[tuple[str, str, float], ...],
    generator: np.random.Generator,
    trials: int,
) -> dict[str, Values]:
    joined = sorted({name for first, second, _ in correlations for name in (first, second)})
    if not joined:
        return {}
    for name in joined:
        if not isinstance(inputs.get(name), Normal):
            raise _not_normal(name)
    matrix = np.eye(len(joined))
    for first, second, r in correlations:
        i, j = joined.index(first), joined.index(second)
        matrix[i, j] = matrix[j, i] = r
    values, vectors = np.linalg.eigh(matrix)
    if values[0] < -1e-9:
        raise Refusal("bad_correlation", "These correlations cannot all hold at once.")
    root = vectors * np.sqrt(np.maximum(values, 0))
    standard = generator.standard_normal((trials, len(joined))) @ root.T
    return {
        name: inputs[name].mean + inputs[name].standard_uncertainty * standard[:, place]
        for place, name in enumerate(joined)
    }
