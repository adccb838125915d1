"""The uncertainty budget of one reading, or of the mean of places read (JCGM 100, 5 and 8).

New in every reading is its scatter, as repeats of places show it, and never less than a uniform
error of one step of the display (F.2.2.1). Shared are the errors of calibrations, of reference
pieces, and what the study states for a gauge: they do not fall with the number of readings. A mean
is that of the places as they were read; what the iron does between them is no error of measuring.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import cast

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.castings.measuring import reading_errors, resolutions, shared_error
from workbench.errors import Refusal
from workbench.inference.grouping import rows_of
from workbench.inference.measuring.budget import Budget, Component
from workbench.inference.measuring.propagation import compare, propagate_budget
from workbench.inference.results import Interval
from workbench.inference.samples import Values
from workbench.records.settings import Gauge

TRIALS = 1_000_000  # JCGM 101, 7.2.2: mostly enough for two digits of the uncertainty
SAME_PLACE = ["block", "bore", "station", "depth", "operator", "gauge", "corrected_by"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """The standard deviation of one reading of a gauge about its place, and how it was found."""

    sd: float
    degrees_of_freedom: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanBudget:
    """A mean of readings, or a difference of means, in `unit`, and its uncertainty budget.

    `finest` is the finest digit it is printed to: the step of a reading, a tenth of it of a mean.
    """

    label: str
    unit: str
    value: float
    readings: int
    budget: Budget
    finest: float | None = None

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the value -/+ its expanded uncertainty."""
        return self.budget.interval(self.value, confidence)


def scatter_of(found: pd.DataFrame) -> dict[str, Scatter]:
    """Give the scatter of each gauge from the places it read more than once, in the frame's unit.

    `found` is what `corrected_moments` gives of one quantity. A gauge that repeated nothing is left
    out.
    """
    answer = {}
    sound = found[found["contact"] == "good"]
    for gauge, mine in sound.groupby("gauge", sort=True):
        n, total = mine["n"].to_numpy(float), mine["n"] * mine["mean"]
        place = mine.groupby(SAME_PLACE, sort=False).ngroup().to_numpy()
        counts = np.bincount(place, n)
        freedom = float(counts.sum()) - counts.size
        if freedom < 1:
            continue
        middle = np.bincount(place, total) / counts
        apart = n * (mine["mean"].to_numpy(float) - middle[place]) ** 2
        squares = float(mine["ss"].sum() + apart.sum())
        answer[str(gauge)] = Scatter(sd=math.sqrt(squares / freedom), degrees_of_freedom=freedom)
    return answer


def mean_budget(
    label: str,
    rows: pd.DataFrame,
    scatter: Mapping[str, Scatter],
    gauges: Mapping[str, Gauge],
    calibrations: Calibrations,
    *,
    single: bool = False,
) -> MeanBudget:
    """Budget the mean of the places in `rows`, each counting alike.

    Parameters
    ----------
    label
        What it is a mean of.
    rows
        What `corrected_moments` gives of the cells: one row a place (or more, read differently).
    scatter
        Of each gauge, from `scatter_of`.
    gauges, calibrations
        What the study states and has fitted.
    single
        Budget one reading of each place, whatever the number taken.

    Raises
    ------
    Refusal
        `no_readings`; `no_repeats` where neither repeats nor the study tell the error of a reading.
    """
    if rows.empty:
        raise Refusal("no_readings", f"There is no reading of {label}.")
    unit = str(rows["unit"].iloc[0])
    weights = np.full(len(rows), 1 / len(rows))
    count = np.ones(len(rows)) if single else rows["n"].to_numpy(float)
    steps = resolutions(rows, gauges, unit)
    own, unseen = [], np.zeros(len(rows), dtype=bool)
    for gauge, at in rows_of(rows["gauge"]):
        if gauge in scatter:
            step = float(steps[at].max())
            own.append(_seen(gauge, scatter[gauge], step, weights[at], count[at]))
        else:
            unseen[at] = True
    if unseen.any():
        given = (rows[unseen], weights[unseen], count[unseen], steps[unseen])
        own += _stated(*given, gauges, unit, calibrations)
    shared = shared_error(rows, weights, gauges, unit, calibrations)
    others = shared.budget.components if shared.budget else ()
    return MeanBudget(
        label=label,
        unit=unit,
        value=float(weights @ rows["mean"].to_numpy(float)),
        readings=int(count.sum()),
        budget=Budget(components=(*own, *others)),
        finest=float(steps.min()) / (1 if count.sum() == 1 else 10),
    )


def _seen(gauge: str, scatter: Scatter, step: float, weights: Values, count: Values) -> Component:
    """Give the scatter of a gauge, or its step where that hides the scatter."""
    by = f" by {gauge}" if gauge else ""
    if scatter.sd < step / math.sqrt(12):
        alone = math.sqrt(float((weights**2).sum()))
        return Component.from_step(f"step of the display{by}", step, sensitivity=alone)
    return Component(
        name=f"repeated readings{by}",
        kind="A",
        stated=scatter.sd,
        sensitivity=math.sqrt(float((weights**2 / count).sum())),
        degrees_of_freedom=scatter.degrees_of_freedom,
    )


def _stated(
    rows: pd.DataFrame,
    weights: Values,
    count: Values,
    steps: Values,
    gauges: Mapping[str, Gauge],
    unit: str,
    calibrations: Calibrations,
) -> Iterator[Component]:
    """Give what each of the readings nobody repeated may be out by on its own.

    The scatter of their gauge on the pieces of its calibration. What is stated of a gauge without
    one is the same error in all its readings, counted as such and holding the step of its display,
    unless the step alone leaves more.
    """
    found = reading_errors(rows, gauges, unit, calibrations)
    if found is None:
        raise Refusal(
            "no_repeats",
            "No place was read twice with this gauge and the study states no uncertainty of it, so "
            "nothing shows the error of a reading.",
        )
    least = steps / math.sqrt(12)
    as_shown, stepped = (rows["corrected_by"] == "").to_numpy(), found[0] < least
    alone = np.where(stepped, least, np.where(as_shown, 0.0, found[0]))
    freedoms = np.where(stepped, math.inf, found[1])
    parts = pd.Series((weights * alone) ** 2 / count)[alone > 0]
    by_kind = parts.groupby([stepped[alone > 0], freedoms[alone > 0]]).sum()
    for kind, variance in by_kind.items():
        coarse, degrees = cast("tuple[bool, float]", kind)
        known = "scatter on pieces" if math.isfinite(degrees) else "stated scatter of a reading"
        known = "step of the display" if coarse else known
        more = f", {degrees:g} degrees of freedom" if len(by_kind) > 2 else ""
        yield Component(
            name=f"{known}{more}",
            kind="A" if math.isfinite(degrees) else "B",
            stated=math.sqrt(float(variance)),
            degrees_of_freedom=degrees,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """The interval of a mean by the formula, and the same by Monte Carlo (JCGM 101).

    `agree` tells whether both are one to the digits reported, `settled` whether the draws were
    enough to tell.
    """

    formula: Interval
    simulated: Interval
    agree: bool
    settled: bool


def drawn(measured: MeanBudget, confidence: float, generator: np.random.Generator) -> Drawn:
    """Propagate the distributions of a budget, and hold the formula against what comes out."""
    formula = measured.interval(confidence)
    result = propagate_budget(measured.budget, measured.value, generator=generator, trials=TRIALS)
    found = compare(result, formula, measured.budget.combined)
    return Drawn(
        formula=formula,
        simulated=result.interval(confidence),
        agree=found.agree,
        settled=found.settled,
    )
