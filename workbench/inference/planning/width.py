"""How wide an interval a plan gives, and how many blocks make it narrow enough.

References
----------
Kupper, L. L. and Hafner, K. B. (1989). How appropriate are popular sample size formulas? The
American Statistician 43, 101-105; Beal, S. L. (1989). Sample size determination for confidence
intervals on the population mean. Biometrics 45, 969-977. Both from memory.
"""

from __future__ import annotations

import math

from scipy.special import chdtri, gammaln, stdtrit

from workbench.errors import Refusal
from workbench.inference.planning.blocks import ADD, LEAST_OWN, MOST, fewest
from workbench.inference.planning.layouts import Layout, Precision, Spreads, contrast_precision
from workbench.inference.results import check_confidence


def expected_half_width(precision: Precision, confidence: float = 0.95) -> float:
    """Answer how far the ends of the interval will lie from its middle, on average.

    Examples
    --------
    >>> found = expected_half_width(Precision(standard_error=1.0, degrees_of_freedom=9))
    >>> round(found, 3)
    2.2
    """
    check_confidence(confidence)
    df = precision.degrees_of_freedom
    shrunk = 1.0
    if math.isfinite(df):
        shrunk = math.sqrt(2 / df) * math.exp(float(gammaln((df + 1) / 2) - gammaln(df / 2)))
    return float(stdtrit(df, (1 + confidence) / 2)) * precision.standard_error * shrunk


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


def blocks_for_half_width(
    half_width: float,
    spreads: Spreads,
    *,
    bores: int = 1,
    readings: int = 1,
    candidate: int = 0,
    reference: int = 0,
    add: str = "each",
    confidence: float = 0.95,
    assurance: float | None = None,
    reference_spreads: Spreads | None = None,
    shared: float = 0.0,
    most: int = MOST,
) -> int | None:
    """Answer how many blocks more make the interval of a difference as narrow as wanted.

    Parameters
    ----------
    half_width : float
        Wanted at most, in the unit of the spreads: on average, or with `assurance`.
    spreads, bores, readings, candidate, reference, add, reference_spreads, shared, most
        As for `fewest_blocks`.
    confidence : float
        Of the two-sided interval.
    assurance : float, optional
        The chance with which the interval found is to be that narrow.

    Returns
    -------
    int or None
        None where `most` would not do.

    Raises
    ------
    Refusal
        `bad_half_width`, `unknown_method`, `bad_layout`, `bad_power`.

    Examples
    --------
    >>> blocks_for_half_width(0.3, Spreads(block=0.4)), blocks_for_half_width(
    ...     0.3, Spreads(block=0.4), assurance=0.9)
    (15, 20)
    """
    if not (half_width > 0 and math.isfinite(half_width)):
        raise Refusal("bad_half_width", f"A half-width is above 0 and finite, not {half_width}.")
    if add not in ADD:
        raise Refusal("unknown_method", f"add is one of {', '.join(ADD)}, not {add!r}.")
    if min(candidate, reference) < 0:
        raise Refusal("bad_layout", f"Blocks measured are 0 or more, not {candidate}, {reference}.")
    grows = (add != "reference", add != "candidate")
    own = LEAST_OWN if reference_spreads is not None else 1

    def enough(more: int) -> bool:
        counts = (candidate + more * grows[0], reference + more * grows[1])
        if min(counts) < own or sum(counts) <= 2:
            return False
        ours, others = (Layout(blocks=n, bores=bores, readings=readings) for n in counts)
        precision = contrast_precision(
            spreads, ours, others, reference_spreads=reference_spreads
        ).widened(shared)
        if assurance is None:
            return expected_half_width(precision, confidence) <= half_width
        return half_width_within(precision, confidence, assurance) <= half_width

    return fewest(enough, least=0, most=most)
