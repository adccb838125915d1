"""An uncertainty budget (JCGM 100): components, what they add up to, and what is shared.

A component is stated once, as it is known (a standard deviation, a half-width, an expanded
uncertainty), and carries its divisor and its signed sensitivity. `shared` names the thing whose
error it is (one calibration, one reference piece): such an error is the same in every reading made
with that thing. It does not fall when readings are averaged, and when two results are combined it
cancels or adds by its signs. A component without `shared` is new in every reading.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from workbench.errors import Refusal
from workbench.inference.admissible import finite, positive, uncertainty
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import clean_values

Distribution = Literal["normal", "rectangular", "triangular", "arcsine"]

# JCGM 100, 4.3.7, 4.3.9; arcsine from JCGM 101, 6.4.6.
DIVISORS: Mapping[str, float] = {
    "normal": 1.0,
    "rectangular": math.sqrt(3),
    "triangular": math.sqrt(6),
    "arcsine": math.sqrt(2),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One cause of uncertainty.

    Attributes
    ----------
    name
        What it is; unique within a budget.
    kind
        "A" when found from repeated observations, "B" otherwise (JCGM 100, 2.3).
    stated
        The number as known: a standard deviation or an expanded uncertainty (`normal`), or the
        half-width of a bounded distribution. In the unit of the input.
    distribution
        `normal`, `rectangular`, `triangular` or `arcsine`.
    divisor
        The factor of an expanded uncertainty, for example 2 (`normal` only). Left out, what
        turns `stated` into a standard uncertainty follows from the distribution: 1, root 3,
        root 6, root 2.
    sensitivity
        Change of the result for a unit change of this input, with its sign.
    degrees_of_freedom
        Of the standard uncertainty; infinite when it is taken as known.
    shared
        The thing whose error it is, or None when it is new in every reading.
    """

    name: str
    kind: Literal["A", "B"]
    stated: float
    distribution: Distribution = "normal"
    divisor: float | None = None
    sensitivity: float = 1.0
    degrees_of_freedom: float = math.inf
    shared: str | None = None

    def __post_init__(self) -> None:
        """Refuse a component that says nothing usable."""
        uncertainty(f"The component “{self.name}”", self.stated)
        finite(f"The sensitivity of “{self.name}”", self.sensitivity)
        if self.kind not in ("A", "B"):
            raise Refusal("bad_component", f"“{self.name}” is of type A or B, not {self.kind!r}.")
        if self.distribution not in DIVISORS:
            raise Refusal(
                "bad_component",
                f"The distribution of “{self.name}” is one of {', '.join(DIVISORS)}, "
                f"not {self.distribution!r}.",
            )
        if self.divisor is not None:
            positive(f"The divisor of “{self.name}”", self.divisor)
            if self.distribution != "normal":
                raise Refusal(
                    "bad_component",
                    f"The divisor of “{self.name}” follows from its {self.distribution} "
                    "distribution; leave it out.",
                )
        if not self.degrees_of_freedom > 0:
            raise Refusal(
                "no_degrees_of_freedom",
                f"The degrees of freedom of “{self.name}” must be above 0, "
                f"not {self.degrees_of_freedom}.",
            )

    @classmethod
    def from_readings(cls, name: str, values: ArrayLike, *, sensitivity: float = 1.0) -> Component:
        """State the scatter of repeated readings: the standard deviation of one of them."""
        row = clean_values(values, least=2, name=f"the row of {name}")
        return cls(
            name=name,
            kind="A",
            stated=float(row.std(ddof=1)),
            sensitivity=sensitivity,
            degrees_of_freedom=row.size - 1,
        )

    @classmethod
    def from_step(cls, name: str, step: float, *, sensitivity: float = 1.0) -> Component:
        """State a display that moves in steps: half a step either way (JCGM 100, F.2.2.1).

        Taken as new in every reading. Where repeats show one and the same value it is not, and
        averaging does not help: then share it.
        """
        return cls(
            name=name,
            kind="B",
            stated=positive(f"The step of “{name}”", step) / 2,
            distribution="rectangular",
            sensitivity=sensitivity,
        )

    @property
    def standard_uncertainty(self) -> float:
        """`stated` over its divisor, in the unit of the input."""
        return self.stated / (self.divisor or DIVISORS[self.distribution])

    @property
    def contribution(self) -> float:
        """Sensitivity times standard uncertainty: signed, in the unit of the result."""
        return self.sensitivity * self.standard_uncertainty


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """Components and what they add up to.

    `correlations` holds (name, name, coefficient) for inputs that vary together; pairs not named
    are independent.
    """

    components: tuple[Component, ...]
    correlations: tuple[tuple[str, str, float], ...] = ()

    def __post_init__(self) -> None:
        """Refuse a budget that cannot be added up."""
        names = [component.name for component in self.components]
        if not names:
            raise Refusal("empty_budget", "A budget needs a component.")
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise Refusal("bad_component", f"The component “{twice[0]}” is named twice.")
        for first, second, r in self.correlations:
            if first == second or first not in names or second not in names:
                raise Refusal(
                    "bad_correlation",
                    f"A correlation joins two components of the budget, not “{first}” and "
                    f"“{second}”.",
                )
            if not -1 <= r <= 1:
                raise Refusal(
                    "bad_correlation",
                    f"The correlation of “{first}” and “{second}” lies between -1 and 1, not {r}.",
                )
        if self.correlations and np.linalg.eigvalsh(self._correlation_matrix())[0] < -1e-9:
            raise Refusal("bad_correlation", "These correlations cannot all hold at once.")

    @property
    def combined(self) -> float:
        """The combined standard uncertainty (JCGM 100, 5.1.2 and 5.2.2)."""
        return math.sqrt(max(0.0, sum(self._parts())))

    @property
    def degrees_of_freedom(self) -> float:
        """Effective degrees of freedom (Welch-Satterthwaite, JCGM 100, G.4.1).

        Raises
        ------
        Refusal
            `correlated_degrees_of_freedom` when correlated inputs have finite ones: the formula
            holds for independent inputs only.
        """
        spread = sum(c.contribution**4 / c.degrees_of_freedom for c in self.components)
        joined = {name for first, second, r in self.correlations if r for name in (first, second)}
        if any(c.name in joined and math.isfinite(c.degrees_of_freedom) for c in self.components):
            raise Refusal(
                "correlated_degrees_of_freedom",
                "Correlated inputs with finite degrees of freedom have no effective number of "
                "them; state it.",
            )
        return self.combined**4 / spread if spread > 0 else math.inf

    def coverage_factor(
        self, confidence: float = 0.95, degrees_of_freedom: float | None = None
    ) -> float:
        """Give t for `confidence`, at the effective degrees of freedom or at those stated.

        JCGM 100 rounds effective degrees of freedom down; here they are kept as they come.
        """
        check_confidence(confidence)
        nu = self.degrees_of_freedom if degrees_of_freedom is None else degrees_of_freedom
        return -float(stdtrit(nu, (1 - confidence) / 2))

    def expanded(self, confidence: float = 0.95, degrees_of_freedom: float | None = None) -> float:
        """Give the expanded uncertainty: coverage factor times combined standard uncertainty."""
        return self.coverage_factor(confidence, degrees_of_freedom) * self.combined

    def interval(self, estimate: float, confidence: float = 0.95) -> Interval:
        """Give the interval of a result: `estimate` -/+ the expanded uncertainty."""
        half = self.expanded(confidence)
        return Interval(low=estimate - half, high=estimate + half, confidence=confidence)

    def shares(self) -> dict[str, float]:
        """Give each component's share of the variance; they add up to 1.

        A correlation is split between its two components, so a share can be negative: that
        component's errors offset another's.
        """
        parts = self._parts()
        total = sum(parts)
        if not total > 0:
            raise Refusal("no_variance", "The budget is 0 in all; there is nothing to share out.")
        return {c.name: part / total for c, part in zip(self.components, parts, strict=True)}

    def mean_of(self, readings: int) -> Budget:
        """Give the budget of the mean of `readings` readings: only what is not shared falls."""
        if not readings >= 1:
            raise Refusal("bad_readings", f"A mean is of 1 or more readings, not of {readings}.")
        root = math.sqrt(readings)
        return replace(
            self,
            components=tuple(
                c if c.shared else replace(c, sensitivity=c.sensitivity / root)
                for c in self.components
            ),
        )

    def _parts(self) -> list[float]:
        y = np.array([c.contribution for c in self.components])
        if not self.correlations:
            return [float(value) for value in y**2]
        return [float(value) for value in y * (self._correlation_matrix() @ y)]

    def _correlation_matrix(self) -> np.ndarray:
        place = {component.name: i for i, component in enumerate(self.components)}
        matrix = np.eye(len(place))
        for first, second, r in self.correlations:
            matrix[place[first], place[second]] = matrix[place[second], place[first]] = r
        return matrix


def combine(terms: Sequence[tuple[str, float, Budget]]) -> Budget:
    """Give the budget of a sum of results, each with a label and a coefficient.

    Components of one name, shared by one thing, are one error: their sensitivities add with their
    signs, so that in a difference they cancel. All others stay apart and take the label of their
    result into their name. A difference of two families is
    `combine([("trophy", 1, a), ("works", -1, b)])`.

    Raises
    ------
    Refusal
        `shared_differs` when a shared component is stated differently in two results;
        `bad_component` for two results of one label; `bad_correlation` for budgets with
        correlations, which must be combined by hand.
    """
    labels = [label for label, _, _ in terms]
    if len(set(labels)) != len(labels):
        raise Refusal("bad_component", f"Each result needs a label of its own: {labels}.")
    merged: dict[tuple[str, str], Component] = {}
    for label, coefficient, budget in terms:
        if budget.correlations:
            raise Refusal(
                "bad_correlation", f"The budget of “{label}” has correlations; combine it by hand."
            )
        for component in budget.components:
            added = finite(f"The coefficient of “{label}”", coefficient) * component.sensitivity
            if component.shared:
                key = (component.name, component.shared)
                name = f"{component.name} ({component.shared})"
            else:
                key = (component.name, f"\0{label}")
                name = f"{component.name}, {label}"
            known = merged.get(key)
            if known is None:
                merged[key] = replace(component, name=name, sensitivity=added)
                continue
            if replace(known, name="", sensitivity=1) != replace(component, name="", sensitivity=1):
                raise Refusal(
                    "shared_differs", f"“{name}” is stated differently in two of the results."
                )
            merged[key] = replace(known, sensitivity=known.sensitivity + added)
    return Budget(components=tuple(merged.values()))
