"""Assurance: power averaged over what is not known about the truth it is worked out from.

A plan made from a pilot takes its difference and its spread for the truth. The pilot knows them
only so well; over that uncertainty the chance of success is nearer to one half than the power says.

References
----------
O'Hagan, A., Stevens, J. W. and Campbell, M. J. (2005). Assurance in clinical trial design.
Pharmaceutical Statistics 4, 187-201; Spiegelhalter, D. J. and Freedman, L. S. (1986). A predictive
approach to selecting the size of a clinical trial. Statistics in Medicine 5, 1-13. Both from
memory.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.special import ndtr, stdtrit

from workbench.errors import Refusal
from workbench.inference.noncentral import spread_nodes
from workbench.inference.planning.aims import Aim, Kind
from workbench.inference.planning.layouts import Precision, Values
from workbench.inference.results import Difference

NODES = 96
STILL = 1e-9  # of the error: an estimate that does not move at all is a step, not a curve


def assurance(
    pilot: Difference,
    plan: Precision,
    *,
    kind: Kind,
    margin: float = 0.0,
    confidence: float = 0.95,
    difference: float | None = None,
) -> float:
    """Answer how likely a new study shows the aim, all that a pilot leaves open averaged over.

    Parameters
    ----------
    pilot : Difference
        What is known: estimate, standard error and degrees of freedom of a first study.
    plan : Precision
        Of the new study alone, if the spreads were as the pilot found them.
    kind, margin, confidence
        As for `Aim`.
    difference : float, optional
        Take this difference for true and average over the spread alone.

    Returns
    -------
    float
        From 0 to 1. All variances are taken to be out by one common factor, which the pilot knows
        with its degrees of freedom (chi-square); the difference about its estimate is normal for
        each spread, Student's t over all of them.

    Raises
    ------
    Refusal
        What `Aim` refuses.

    Examples
    --------
    A pilot at twice its standard error promises a plan of half the error 97 % power; with what the
    pilot leaves open, the chance is 78 %:

    >>> pilot = Difference(
    ...     estimate=2.0, standard_error=1.0, degrees_of_freedom=10, method="pilot")
    >>> plan = Precision(standard_error=0.5, degrees_of_freedom=40)
    >>> aim = Aim(kind="greater", difference=2.0)
    >>> power = aim.power(0.5, 40)
    >>> round(power, 2), round(assurance(pilot, plan, kind="greater"), 2)
    (0.97, 0.78)
    """
    aim = Aim(
        kind=kind,
        difference=pilot.estimate if difference is None else difference,
        margin=margin,
        confidence=confidence,
    )
    drift = 0.0 if difference is not None else pilot.standard_error
    true, weights = _true_spreads(pilot)
    found, found_weights = spread_nodes(plan.degrees_of_freedom, NODES)
    error = plan.standard_error * true
    scatter = np.hypot(error, drift * true)  # of the new estimate about the pilot's
    shown = _chance(aim, error * found, plan.degrees_of_freedom, scatter)
    return float(weights @ shown @ found_weights)


def assurance_of_more(
    pilot: Difference,
    plan: Precision,
    *,
    kind: Kind,
    margin: float = 0.0,
    confidence: float = 0.95,
    shared: float = 0.0,
    shared_then: float | None = None,
) -> float:
    """Answer how likely a study shows the aim once it goes on, given what it found so far.

    What is measured already stays in the enlarged study, so its estimate can move only as far as
    the new readings carry it: by the variance now less the variance then (what is known is a
    martingale). `assurance` asks the same of a new study that leaves the first one out.

    Parameters
    ----------
    pilot : Difference
        What is known so far, of the readings alone.
    plan : Precision
        Of the enlarged study, the readings so far included, if the spreads were as found.
    kind, margin, confidence
        As for `Aim`.
    shared : float
        A standard uncertainty of measuring that no reading averages out.
    shared_then : float, optional
        What it will be in the enlarged study, less after a calibration; the same where left out.

    References
    ----------
    Spiegelhalter, D. J., Freedman, L. S. and Blackburn, P. R. (1986). Monitoring clinical trials:
    conditional or predictive power? Controlled Clinical Trials 7, 8-17 (from memory).

    Examples
    --------
    Half the blocks measured and just at the bound, z = 1.96, spreads known: the normal probability
    of (sqrt(2) - 1) 1.96.

    >>> half = Difference(
    ...     estimate=1.96, standard_error=1.0, degrees_of_freedom=math.inf, method="half")
    >>> whole = Precision(standard_error=0.5**0.5, degrees_of_freedom=math.inf)
    >>> round(assurance_of_more(half, whole, kind="greater"), 3)
    0.792
    """
    aim = Aim(kind=kind, difference=pilot.estimate, margin=margin, confidence=confidence)
    then = shared if shared_then is None else min(shared_then, shared)
    freed = math.sqrt(shared**2 - then**2)  # of what the estimate is out by, a calibration's share
    new = max(pilot.standard_error**2 - plan.standard_error**2, 0.0)
    true, weights = _true_spreads(pilot)
    moves = np.maximum(np.hypot(math.sqrt(new) * true, freed), STILL * plan.standard_error)
    squares, found_weights = _found_squares(pilot.degrees_of_freedom, plan, true)
    estimated = np.hypot(plan.standard_error * np.sqrt(squares), then)
    shown = _chance(aim, estimated, plan.widened(then).degrees_of_freedom, moves)
    return float(weights @ shown @ found_weights)


def _true_spreads(pilot: Difference) -> tuple[Values, Values]:
    """Give the true spread over the pilot's as it may be, a row each, with weights."""
    known, weights = spread_nodes(pilot.degrees_of_freedom, NODES)
    return (1 / known)[:, None], weights


def _found_squares(known: float, plan: Precision, true: Values) -> tuple[Values, Values]:
    """Give the square of the spread the enlarged study will find over the pilot's, with weights.

    The pilot's squares stay, and only those of the further degrees of freedom are yet to be seen;
    where the enlarged study takes spreads apart, and so has fewer, all count as unseen.
    """
    further = plan.degrees_of_freedom - known
    if math.isinf(known) or further == 0:
        return np.ones_like(true), np.ones(1)
    if further < 0:
        found, weights = spread_nodes(plan.degrees_of_freedom, NODES)
        return np.square(true * found), weights
    if math.isinf(further):
        return np.square(true), np.ones(1)
    found, weights = spread_nodes(further, NODES)
    return (known + further * np.square(true * found)) / (known + further), weights


def _chance(aim: Aim, estimated: Values, degrees: float, scatter: Values) -> Values:
    """Give the chance of each pair of true and estimated error that the new estimate shows it."""
    level = aim.confidence if aim.kind == "same" else (1 + aim.confidence) / 2
    t = float(stdtrit(degrees, level))
    if aim.kind == "same" and t <= 0:
        raise Refusal("bad_confidence", f"Sameness at {aim.confidence:g} confidence is no claim.")

    def below(bound: Values) -> Values:
        probability: Values = ndtr((bound - aim.difference) / scatter)
        return probability

    reach = t * estimated
    if aim.kind == "same":
        within: Values = np.maximum(below(aim.margin - reach) - below(reach - aim.margin), 0.0)
        return within
    above, under = 1 - below(aim.margin + reach), below(-aim.margin - reach)
    if aim.kind == "different":
        return above + under
    return above if aim.kind == "greater" else under


def limit_of_assurance(pilot: Difference, *, kind: Kind, margin: float = 0.0) -> float:
    """Answer how likely even an endless study shows the aim: the pilot's chance that it is true.

    Raises
    ------
    Refusal
        `bad_choice` for "different" with a margin of 0, which an endless study always shows;
        what `Aim` refuses.
    """
    Aim(kind=kind, difference=pilot.estimate, margin=margin)
    if kind == "greater":
        return 1 - pilot.p_above(margin)
    if kind == "less":
        return 1 - pilot.p_below(-margin)
    if margin == 0:
        raise Refusal("bad_choice", "An endless study always shows some difference.")
    outside = (1 - pilot.p_above(margin)) + (1 - pilot.p_below(-margin))
    return outside if kind == "different" else 1 - outside
