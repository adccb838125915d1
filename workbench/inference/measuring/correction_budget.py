"""What calibrations leave in a weighted sum of corrected values: what cancels, and what adds.

The sum may be a mean, or a difference of two means, of values corrected by one line or by many.
The scatter of each calibration is its own; a reference piece used for several calibrations is one
error in all of them. Only the sum of the weights, and of the weighted values, enters for each line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from workbench.errors import Refusal
from workbench.inference.admissible import paired
from workbench.inference.measuring.budget import Budget, Component
from workbench.inference.measuring.calibration_line import CalibrationLine
from workbench.inference.samples import clean_values


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectedPart:
    """The values of a sum that one line corrected.

    `weight` is the sum of their weights, `moment` that of weight times corrected value.
    """

    label: str
    line: CalibrationLine
    weight: float
    moment: float

    @classmethod
    def of(
        cls, label: str, line: CalibrationLine, weights: ArrayLike, corrected: ArrayLike
    ) -> CorrectedPart:
        """Sum up the weights of corrected values and their products."""
        w = clean_values(weights, name="the row of weights")
        x = clean_values(corrected, name="the row of corrected values")
        paired("Weights", w, "corrected values", x)
        return cls(label=label, line=line, weight=float(w.sum()), moment=float(w @ x))


def correction_budget(parts: Sequence[CorrectedPart]) -> Budget:
    """Give the budget of what the lines' errors leave in the sum of the parts.

    One component for the scatter of each calibration, under its label, and one for each reference
    piece, speed or zero, under its name.

    Raises
    ------
    Refusal
        `no_repeatability` when the scatter of a calibration is not known; `bad_component` for no
        parts or two of one label.
    """
    labels = [part.label for part in parts]
    if not labels or len(set(labels)) < len(labels):
        raise Refusal(
            "bad_component", f"A sum has one part for each calibration, not {labels or 'none'}."
        )
    scatter: list[Component] = []
    moved: dict[str, float] = {}
    stated: dict[str, float] = {}
    for part in parts:
        line, w, m = part.line, part.weight, part.moment
        line.covariance()  # refuses a scatter that is not known
        v = line.scatter_covariance
        if v is not None:
            variance = np.array([w, m]) @ [[v.zero, v.both], [v.both, v.slope]] @ [w, m]
            scatter.append(
                Component(
                    name=f"scatter of {part.label}",
                    kind="A",
                    stated=math.sqrt(max(0.0, float(variance))) / line.slope,
                    degrees_of_freedom=line.degrees_of_freedom,
                    shared=part.label,
                )
            )
        for error in line.reference_errors:
            effect = (error.zero * w + error.slope * m) / line.slope
            moved[error.source] = moved.get(error.source, 0.0) + effect
            if error.stated:
                stated[error.source] = error.stated
    return Budget(
        components=(
            *scatter,
            *(_moving(source, effect, stated.get(source)) for source, effect in moved.items()),
        )
    )


def _moving(source: str, effect: float, stated: float | None) -> Component:
    """Give what one piece, zero or speed does: by its own uncertainty where that is in the unit.

    The sensitivity is the change of the sum for a unit change of the value stated for the piece.
    """
    if stated is None:
        return Component(name=source, kind="B", stated=abs(effect), shared=source)
    return Component(
        name=source, kind="B", stated=stated, sensitivity=effect / stated, shared=source
    )
