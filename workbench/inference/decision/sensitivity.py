"""Which uncertain input moves a result most: one at a time, and all at once."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from workbench.errors import Refusal
from workbench.inference.results import check_confidence
from workbench.inference.samples import Values

Function = Callable[[Mapping[str, Values]], Values]
Quantiles = Mapping[str, Callable[[Values], Values]]

REPLICATES = 8
POINTS = 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """A result with one input at its low and high end, all others at their medians."""

    name: str
    at_low: float
    at_high: float
    middle: float

    @property
    def width(self) -> float:
        """How far the input alone moves the result; infinite where an end has none."""
        if math.isinf(self.at_low) and self.at_low == self.at_high:
            return 0.0
        return abs(self.at_high - self.at_low)

    @property
    def turns(self) -> bool:
        """Whether the input alone can turn the sign of the result."""
        ends = (self.at_low, self.at_high, self.middle)
        return min(ends) < 0 < max(ends)


@dataclass(frozen=True, slots=True, kw_only=True)
class SobolIndex:
    """The share of a result's variance that goes with one input.

    `first` is what knowing the input alone would take away, `total` what would be left if all but
    it were known: the difference is what it does together with others. The errors are standard
    errors over independent scrambled designs; an index near 0 may come out below it by as much.
    """

    name: str
    first: float
    first_error: float
    total: float
    total_error: float


def swings(function: Function, inputs: Quantiles, confidence: float = 0.9) -> tuple[Swing, ...]:
    """Answer which input moves a result most by itself; the greatest first.

    Parameters
    ----------
    function
        Called once with one array a named input; gives one result each.
    inputs
        The quantile function of each input, by name.
    confidence : float
        Each input is moved to the ends of its interval with equal chance on either side.

    Raises
    ------
    Refusal
        `no_input`, `bad_confidence`.
    """
    check_confidence(confidence)
    names = _names(inputs)
    tail = (1 - confidence) / 2
    middle, low, high = (
        {name: float(inputs[name](np.array([p]))[0]) for name in names}
        for p in (0.5, tail, 1 - tail)
    )
    settings = [{}, *({name: ends[name]} for name in names for ends in (low, high))]
    at = {name: np.array([(middle | moved)[name] for moved in settings]) for name in names}
    results = [float(result) for result in function(at)]
    found = [
        Swing(name=name, at_low=results[2 * i + 1], at_high=results[2 * i + 2], middle=results[0])
        for i, name in enumerate(names)
    ]
    return tuple(sorted(found, key=lambda swing: -swing.width))


def sobol(
    function: Function,
    inputs: Quantiles,
    *,
    generator: np.random.Generator,
    points: int = POINTS,
    replicates: int = REPLICATES,
) -> tuple[SobolIndex, ...]:
    """Answer which input moves a result most, alone and with the others; the greatest total first.

    Parameters
    ----------
    function, inputs
        As for `swings`; the inputs are taken as independent, the results must be finite.
    generator
        Source of the scrambled designs.
    points : int
        Points of each design, a power of 2.
    replicates : int
        Independent designs, 2 or more; their spread gives the errors.

    Raises
    ------
    Refusal
        `no_input`, `bad_points`, `no_spread` where the result does not vary, `not_finite`.

    References
    ----------
    Sobol', I. M. (2001). Global sensitivity indices for nonlinear mathematical models and their
    Monte Carlo estimates. Mathematics and Computers in Simulation 55, 271-280. Saltelli, A. et al.
    (2010). Variance based sensitivity analysis of model output. Computer Physics Communications
    181, 259-270 (both from memory); estimated by `scipy.stats.sobol_indices`.
    """
    from scipy.stats import sobol_indices  # the whole of scipy.stats: a third of a second

    names = _names(inputs)
    if points < 2 or points & (points - 1) or replicates < 2:
        raise Refusal(
            "bad_points",
            f"Designs need a power of 2 of points and 2 replicates, not {points} and {replicates}.",
        )

    def of_rows(rows: Values) -> Values:
        results = function(dict(zip(names, rows, strict=True)))
        if not bool(np.all(np.isfinite(results))):
            raise Refusal("not_finite", "The result is without bound for some inputs.")
        return np.asarray(results, dtype=float)

    distributions = [_Distribution(ppf=inputs[name]) for name in names]
    probe = of_rows(np.array([inputs[name](generator.random(points)) for name in names]))
    if np.ptp(probe) == 0:
        raise Refusal("no_spread", "The result does not vary with the inputs.")
    found = [
        sobol_indices(func=of_rows, n=points, dists=distributions, rng=generator)
        for _ in range(replicates)
    ]
    first = np.array([result.first_order for result in found])
    total = np.array([result.total_order for result in found])
    indices = [
        SobolIndex(
            name=name,
            first=float(first[:, i].mean()),
            first_error=float(first[:, i].std(ddof=1) / math.sqrt(replicates)),
            total=float(total[:, i].mean()),
            total_error=float(total[:, i].std(ddof=1) / math.sqrt(replicates)),
        )
        for i, name in enumerate(names)
    ]
    return tuple(sorted(indices, key=lambda index: -index.total))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Distribution:
    """What the library asks of a distribution: its quantile function."""

    ppf: Callable[[Values], Values]


def _names(inputs: Quantiles) -> list[str]:
    if not inputs:
        raise Refusal("no_input", "Nothing is uncertain, so nothing can be sensitive to it.")
    return sorted(inputs)
