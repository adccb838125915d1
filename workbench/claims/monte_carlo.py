"""The interval of a difference by Monte Carlo (JCGM 101), where its formula may not hold.

The formula takes a correction as straight in the errors of its line. It is a quotient, so where
the slope is poorly known the two part; there, and only there, the sum is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from workbench.castings.measuring import SharedError
from workbench.inference.measuring.correction_budget import CorrectedPart
from workbench.inference.measuring.propagation import Comparison, Propagation, compare
from workbench.inference.results import Difference, Interval

POORLY_KNOWN = 0.01  # relative standard uncertainty of a slope
TRIALS = 200_000

Values = NDArray[np.float64]


def poorly_known(parts: Sequence[CorrectedPart]) -> bool:
    """Tell whether any slope is known so poorly that the formula wants a check."""
    return any(
        math.sqrt(part.line.covariance().slope) > POORLY_KNOWN * part.line.slope for part in parts
    )


def drawn_difference(
    readings_only: Difference, shared: SharedError, generator: np.random.Generator
) -> Propagation:
    """Draw the difference with every error of measuring, and the readings' own as Student's t."""
    total = readings_only.estimate + readings_only.standard_error * _student(
        generator, readings_only.degrees_of_freedom
    )
    sources = {error.source for part in shared.parts for error in part.line.reference_errors}
    moved = {source: generator.standard_normal(TRIALS) for source in sorted(sources)}
    for part in shared.parts:
        zero, slope = _drawn_line(part, moved, generator)
        shown = part.line.zero * part.weight + part.line.slope * part.moment
        total += (shown - zero * part.weight) / slope - part.moment
    of_lines = sources | {f"scatter of {part.label}" for part in shared.parts}
    for component in shared.budget.components if shared.budget else ():
        if component.name not in of_lines:  # of a gauge, a missing part, a correlation's iron
            drawn = _student(generator, component.degrees_of_freedom)
            total += component.contribution * drawn
    return Propagation(values=np.sort(total))


def compared(drawn: Propagation, formula: Interval, standard_error: float) -> Comparison:
    """Compare the interval drawn with that of the formula, to two digits of the uncertainty."""
    return compare(drawn, formula, standard_error)


def _drawn_line(
    part: CorrectedPart, moved: dict[str, Values], generator: np.random.Generator
) -> tuple[Values, Values]:
    line = part.line
    scatter = line.scatter_covariance
    assert scatter is not None
    matrix = np.array([[scatter.zero, scatter.both], [scatter.both, scatter.slope]])
    values, vectors = np.linalg.eigh(matrix)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    both = (
        root
        @ generator.standard_normal((2, TRIALS))
        * _widening(generator, line.degrees_of_freedom)
    )
    zero, slope = line.zero + both[0], line.slope + both[1]
    for error in line.reference_errors:
        zero = zero + error.zero * moved[error.source]
        slope = slope + error.slope * moved[error.source]
    return zero, slope


def _student(generator: np.random.Generator, degrees: float) -> Values:
    return generator.standard_normal(TRIALS) * _widening(generator, degrees)


def _widening(generator: np.random.Generator, degrees: float) -> Values:
    """Give what turns normal draws into those of Student's t."""
    if math.isinf(degrees):
        return np.ones(TRIALS)
    return np.asarray(np.sqrt(degrees / generator.chisquare(degrees, TRIALS)))
