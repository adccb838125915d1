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

import numpy as np
from scipy.special import ndtr, stdtrit

from workbench.errors import Refusal
from workbench.inference.noncentral import spread_nodes
from workbench.inference.planning.aims import Aim, Kind
from workbench.inference.planning.layouts import Precision, Values
from workbench.inference.results import Difference

NODES = 96


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
    known, known_weights = spread_nodes(pilot.degrees_of_freedom, NODES)
    found, found_weights = spread_nodes(plan.degrees_of_freedom, NODES)
    true = 1 / known  # the true spread over the pilot's, given the pilot
    error = plan.standard_error * true
    drift = 0.0 if difference is not None else pilot.standard_error
    scatter = np.hypot(error, drift * true)  # of the new estimate about the pilot's
    shown = _chance(aim, plan, error[:, None] * found, scatter[:, None])
    return float(known_weights @ shown @ found_weights)


def _chance(aim: Aim, plan: Precision, estimated: Values, scatter: Values) -> Values:
    """Give the chance of each pair of true and estimated error that the new estimate shows it."""
    level = aim.confidence if aim.kind == "same" else (1 + aim.confidence) / 2
    t = float(stdtrit(plan.degrees_of_freedom, level))
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
