"""The chance that a margin test comes out as hoped, for a t comparison: exact, no far-tail gaps."""

from __future__ import annotations

import math

from scipy.special import ndtr, stdtrit

from workbench.errors import Refusal
from workbench.inference.noncentral import noncentral_t_cdf, spread_nodes
from workbench.inference.results import check_confidence


def superiority_power(
    *,
    difference: float,
    margin: float,
    standard_error: float,
    degrees_of_freedom: float,
    confidence: float = 0.95,
) -> float:
    """Answer how likely 'more than the margin' will be shown if the truth is `difference`.

    With a negative margin it is the power of `not_worse`.

    Parameters
    ----------
    difference : float
        The true difference supposed, in the unit of the standard error.
    margin : float
        The boundary.
    standard_error : float
        What the plan gives the difference; above 0.
    degrees_of_freedom : float
        Of that standard error.
    confidence : float
        Of the two-sided interval that decides.

    Raises
    ------
    Refusal
        `bad_standard_error`, `no_degrees_of_freedom`, `bad_confidence`.

    Examples
    --------
    Seventeen a side detect one standard deviation with 80 %:

    >>> power = superiority_power(difference=1, margin=0, standard_error=(2 / 17) ** 0.5,
    ...                           degrees_of_freedom=32)
    >>> round(power, 3)
    0.807
    """
    _check(standard_error, confidence)
    bound = float(stdtrit(degrees_of_freedom, (1 + confidence) / 2))
    shift = (difference - margin) / standard_error
    return float(noncentral_t_cdf(-bound, degrees_of_freedom, -shift))


def equivalence_power(
    *,
    difference: float,
    low: float,
    high: float,
    standard_error: float,
    degrees_of_freedom: float,
    confidence: float = 0.95,
) -> float:
    """Answer how likely 'within the margins' will be shown if the truth is `difference`.

    Both one-sided tests must hold at 1 - confidence; their statistics share one spread, over which
    the chance is averaged.

    Parameters
    ----------
    difference, standard_error, degrees_of_freedom, confidence
        As for `superiority_power`.
    low, high : float
        The margins, low below high.

    Raises
    ------
    Refusal
        `bad_margin`; else as `superiority_power`.

    References
    ----------
    Diletti, E., Hauschke, D., Steinijans, V. W. (1991). Sample size determination for
    bioequivalence assessment by means of confidence intervals. International Journal of Clinical
    Pharmacology 29, 1-8 (from memory).

    Examples
    --------
    >>> sd = math.log(1 + 0.3**2) ** 0.5
    >>> power = equivalence_power(difference=math.log(0.95), low=math.log(0.8),
    ...                           high=math.log(1.25), standard_error=sd * (2 / 40) ** 0.5,
    ...                           degrees_of_freedom=38)
    >>> round(power, 6)
    0.815845
    """
    _check(standard_error, confidence)
    if not (math.isfinite(low) and math.isfinite(high) and low < high):
        raise Refusal(
            "bad_margin", f"Equivalence needs a low margin below a high one, not {low} and {high}."
        )
    t = float(stdtrit(degrees_of_freedom, confidence))
    top, bottom = (high - difference) / standard_error, (low - difference) / standard_error
    if t <= 0:
        raise Refusal("bad_confidence", f"Sameness at {confidence:g} confidence is no claim.")
    # Beyond this spread the two tests cannot both hold.
    s, weights = spread_nodes(degrees_of_freedom, up_to=(top - bottom) / (2 * t))
    return float(weights @ (ndtr(top - t * s) - ndtr(bottom + t * s)))


def _check(standard_error: float, confidence: float) -> None:
    check_confidence(confidence)
    if not (standard_error > 0 and math.isfinite(standard_error)):
        raise Refusal(
            "bad_standard_error",
            f"A standard error must be above 0 and finite, not {standard_error}.",
        )
