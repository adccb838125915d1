"""What a plan would show beside settling its claim: how narrow an interval, how small a difference.

And when one may stop on the way: the looks after so many new blocks, each with the bound that keeps
the false alarms of all looks together at what one look would have.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import stdtrit

from workbench.inference.planning.detectable import detectable_difference, showable_margin
from workbench.inference.planning.layouts import Precision
from workbench.inference.planning.sequential import Spending, sequential_plan
from workbench.inference.planning.width import half_width_within
from workbench.worth.cheapest_plan import TARGETS, expected_half_widths
from workbench.worth.claim_study import ClaimStudy
from workbench.worth.measuring_plan import MeasuringPlan, Plans, enlarged, shared_after

LOOKS = 4
ENDLESS = 1e7  # degrees of freedom: as good as known


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What the enlarged study would show of the difference, in the unit of the claim.

    `half_width` is how far the ends of its interval will lie from the middle on average, `within`
    how far they stay with odds of 8 in ten. `detectable` is how far from the margin the truth must
    lie to be settled with 8 in ten; for a claim of sameness the margin that could be shown if there
    were no difference. Not a number where it is not known.
    """

    half_width: float
    within: float
    detectable: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One look at the enlarged study, after so many new blocks of each family in all.

    `information` is the share of what the whole plan will tell, `p_value` the two-sided p below
    which one may stop, `beyond` how far beyond the margin the difference must then lie, about.
    `settled` is the chance to have stopped by then, if all is as it seems and the readings at hand
    leave the claim open.
    """

    candidate: int
    reference: int
    information: float
    p_value: float
    beyond: float
    settled: float

    @property
    def confidence(self) -> float:
        """The confidence at which the interval must clear the margin."""
        return 1 - self.p_value


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """The looks at a plan, and how many of its new blocks are measured on average."""

    looks: tuple[Look, ...]
    blocks: float


def outlook(study: ClaimStudy, plan: MeasuringPlan) -> Outlook | None:
    """Answer what the study enlarged by a plan would show; None for a ratio of spreads."""
    if study.ratio is not None:
        return None
    one = Plans.of(plan)
    precision = _precision(study, one)
    asked = {"confidence": study.confidence, "power": TARGETS[0]}
    return Outlook(
        half_width=float(expected_half_widths(study, one)[0]),
        within=half_width_within(precision, study.confidence, TARGETS[0]),
        detectable=showable_margin(precision, **asked)
        if study.direction == "same"
        else detectable_difference(precision, kind="greater", **asked),
    )


def schedule(
    study: ClaimStudy,
    plan: MeasuringPlan,
    *,
    looks: int = LOOKS,
    spending: Spending = "obrien-fleming",
) -> Schedule | None:
    """Answer when one may stop before all blocks of a plan are measured, and at which bounds.

    The readings at hand count as the first look: they left the claim open. Bounds spend the
    permitted false alarms as O'Brien and Fleming's do, hardly any early, or about evenly as
    Pocock's. They hold for normal scores; applied to t with few blocks, 5 in a hundred become 5.4,
    or 5.7.

    Parameters
    ----------
    study, plan
        What the claim rests on, and the plan.
    looks : int
        Looks at the new blocks at most, the last one included.
    spending : {"obrien-fleming", "pocock"}
        How the permitted false alarms are spent over the looks.

    Returns
    -------
    Schedule or None
        None where there is nothing to look at twice: fewer than two new blocks, a claim of
        sameness, a ratio of spreads, or a difference inside its margin.
    """
    distance = distance_from_margin(study)
    if study.ratio is not None or distance <= 0 or plan.candidate + plan.reference < 2:
        return None
    steps = _steps(plan, looks)
    grown = Plans.of(MeasuringPlan(), *steps)
    errors = [_precision(study, grown.rows(np.array([at]))) for at in range(grown.size)]
    total = np.array([precision.standard_error for precision in errors])
    fractions = (total[-1] / total) ** 2
    kept = [0, *(at for at in range(1, grown.size) if fractions[at] > fractions[:at].max())]
    if len(kept) < 3:  # the readings at hand, and the whole plan alone
        return None
    planned = sequential_plan(
        fractions[kept].tolist(), spending=spending, confidence=study.confidence
    )
    stopped = planned.crossing(distance / total[-1]).above
    opened = 1 - stopped[0]  # at the readings at hand it has not stopped
    found, by_now, blocks, before = [], 0.0, 0.0, 0
    for place, at in enumerate(kept[1:], start=1):
        step = steps[at - 1]
        by_now += stopped[place] / opened
        blocks += (1 - (by_now - stopped[place] / opened)) * (
            step.candidate + step.reference - before
        )
        before = step.candidate + step.reference
        nominal = planned.nominal[place]
        degrees = min(errors[at].degrees_of_freedom, ENDLESS)
        found.append(
            Look(
                candidate=step.candidate,
                reference=step.reference,
                information=float(fractions[at]),
                p_value=nominal,
                beyond=-float(stdtrit(degrees, nominal / 2)) * float(total[at]),
                settled=by_now,
            )
        )
    return Schedule(looks=tuple(found), blocks=blocks)


def _precision(study: ClaimStudy, one: Plans) -> Precision:
    """Give the precision of one plan, the shared error counted in."""
    found, shared = enlarged(study, one), shared_after(study, one) ** 2
    total = found.variance + shared
    freedom = found.mixed(lambda degrees: degrees)
    spread = found.variance**2 / freedom + shared**2 / study.shared_degrees
    return Precision(
        standard_error=math.sqrt(float(total[0])),
        degrees_of_freedom=min(float((total**2 / spread)[0]), ENDLESS),
    )


def distance_from_margin(study: ClaimStudy) -> float:
    """Give how far the difference lies outside its margin; below 0 where it lies inside."""
    if study.direction in ("greater", "less"):
        boundary = study.margin if study.direction == "greater" else -study.margin
        return abs(study.estimate - boundary)
    return abs(study.estimate) - study.margin


def _steps(plan: MeasuringPlan, looks: int) -> list[MeasuringPlan]:
    """Part the new blocks of a plan into even steps; what is done again is done at once."""
    counts: list[tuple[int, int]] = []
    for look in range(1, looks + 1):
        share = look / looks
        counts.append((math.ceil(plan.candidate * share), math.ceil(plan.reference * share)))
    return [replace(plan, candidate=c, reference=r) for c, r in dict.fromkeys(counts)]
