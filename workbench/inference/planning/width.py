"""How wide an interval a plan gives: on average, and with a chance.

References
----------
Kupper, L. L. and Hafner, K. B. (1989). How appropriate are popular sample size formulas? The
American Statistician 43, 101-105; Beal, S. L. (1989). Sample size determination for confidence
intervals on the population mean. Biometrics 45, 969-977. Both from memory.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.special import chdtri, gammaln, stdtrit

from workbench.errors import Refusal
from workbench.inference.planning.layouts import Precision
from workbench.inference.results import check_confidence
from workbench.inference.samples import Values

ENDLESS = 1e7  # degrees of freedom: as good as known


def expected_half_width(precision: Precision, confidence: float = 0.95) -> float:
    """Answer how far the ends of the interval will lie from its middle, on average.

    Examples
    --------
    >>> found = expected_half_width(Precision(standard_error=1.0, degrees_of_freedom=9))
    >>> round(found, 3)
    2.2
    """
    errors, degrees = precision.standard_error, precision.degrees_of_freedom
    return float(half_widths(np.array(errors), np.array(degrees), confidence))


def half_widths(errors: Values, degrees: Values, confidence: float = 0.95) -> Values:
    """Give the same for many plans at once, from their standard errors and degrees of freedom."""
    check_confidence(confidence)
    df = np.minimum(degrees, ENDLESS)
    shrunk = np.sqrt(2 / df) * np.exp(gammaln((df + 1) / 2) - gammaln(df / 2))
    return np.asarray(stdtrit(df, (1 + confidence) / 2) * errors * shrunk)


def half_width_within(
    precision: Precision, confidence: float = 0.95, assurance: float = 0.8
) -> float:
    """Answer within which half-width the interval will stay with the chance `assurance`.

    The spread that will be found is itself a matter of chance; an interval planned for its mean
    comes out wider nearly every second time.

    Raises
    ------
    Refusal
        `bad_power` for an assurance not between 0 and 1.
    """
    check_confidence(confidence)
    if not 0 < assurance < 1:
        raise Refusal("bad_power", f"Assurance must lie between 0 and 1, not at {assurance}.")
    df = precision.degrees_of_freedom
    stretched = math.sqrt(float(chdtri(df, 1 - assurance)) / df) if math.isfinite(df) else 1.0
    return float(stdtrit(df, (1 + confidence) / 2)) * precision.standard_error * stretched
