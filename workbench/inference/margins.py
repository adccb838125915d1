"""Margins: superior by more than, not worse than, and equivalent within, for any comparison.

A test that finds no difference has not shown that there is none. Sameness is claimed here only
against margins stated beforehand, by two one-sided tests.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbench.errors import Refusal
from workbench.inference.estimates import Comparison
from workbench.inference.results import Interval, check_confidence


@dataclass(frozen=True, slots=True, kw_only=True)
class MarginTest:
    """A comparison held against a margin; `p_value` is one-sided, against the margin itself.

    `kind` is "superior", "not worse" or "equivalent". The claim holds at a confidence when the
    interval that decides lies wholly beyond `low` and below `high` (one of which is infinite but
    for "equivalent").
    """

    comparison: Comparison
    kind: str
    low: float
    high: float
    p_value: float

    @property
    def estimate(self) -> float:
        """Candidate less reference."""
        return self.comparison.estimate

    def level(self, confidence: float = 0.95) -> float:
        """Give the one-sided p below which the claim holds.

        1 - confidence for "equivalent" (each of two one-sided tests), half of it for the others,
        which are decided by the two-sided interval.
        """
        check_confidence(confidence)
        return 1 - confidence if self.kind == "equivalent" else (1 - confidence) / 2

    def holds(self, confidence: float = 0.95) -> bool:
        """Tell whether the claim holds at `confidence`."""
        return self.p_value < self.level(confidence)

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval that decides: at `confidence`, or 2 confidence - 1 for "equivalent"."""
        check_confidence(confidence)
        decisive = 2 * confidence - 1 if self.kind == "equivalent" else confidence
        return self.comparison.interval(decisive)


def superior(comparison: Comparison, margin: float = 0.0) -> MarginTest:
    """Answer whether the candidate exceeds the reference by more than `margin`.

    Parameters
    ----------
    comparison : Comparison
        Any difference of means (Welch, pooled, nested, paired), of shares, or by ranks.
    margin : float
        In the unit of the comparison, 0 or above.

    Raises
    ------
    Refusal
        `bad_margin` for a margin below 0 (that is `not_worse`), NaN or infinite.
    """
    _check(margin, least=0.0)
    return MarginTest(
        comparison=comparison,
        kind="superior",
        low=margin,
        high=math.inf,
        p_value=comparison.p_above(margin),
    )


def not_worse(comparison: Comparison, margin: float) -> MarginTest:
    """Answer whether the candidate falls short of the reference by less than `margin`.

    Larger values are taken as better; where smaller ones are, swap the families.

    Parameters
    ----------
    comparison : Comparison
        As for `superior`.
    margin : float
        What may be lost, above 0, stated before looking.

    References
    ----------
    Rodary, C., Com-Nougue, C., Tournade, M. F. (1989). How to establish equivalence between
    treatments. Statistics in Medicine 8, 593-598 (from memory).
    """
    _check(margin, least=math.ulp(0.0))
    return MarginTest(
        comparison=comparison,
        kind="not worse",
        low=-margin,
        high=math.inf,
        p_value=comparison.p_above(-margin),
    )


def equivalent(comparison: Comparison, low: float, high: float | None = None) -> MarginTest:
    """Answer whether the difference lies within margins, by two one-sided tests.

    Parameters
    ----------
    comparison : Comparison
        As for `superior`.
    low, high : float
        The margins, low below high; `equivalent(x, 0.5)` means -0.5 to 0.5.

    Raises
    ------
    Refusal
        `bad_margin` unless low < high and both are finite.

    References
    ----------
    Schuirmann, D. J. (1987). A comparison of the two one-sided tests procedure and the power
    approach for assessing the equivalence of average bioavailability. Journal of Pharmacokinetics
    and Biopharmaceutics 15, 657-680 (from memory).

    Examples
    --------
    >>> from workbench.inference.means.welch import Summary, welch
    >>> apart = welch(Summary(n=95, mean=5.25, sd=0.95), Summary(n=89, mean=5.22, sd=0.83))
    >>> within = equivalent(apart, 0.384)
    >>> f"p = {within.p_value:.3f}, {within.interval().low:.3f} to {within.interval().high:.3f}"
    'p = 0.004, -0.187 to 0.247'
    """
    if high is None:
        _check(low, least=math.ulp(0.0))
        low, high = -low, low
    if not (math.isfinite(low) and math.isfinite(high) and low < high):
        raise Refusal(
            "bad_margin", f"Equivalence needs a low margin below a high one, not {low} and {high}."
        )
    return MarginTest(
        comparison=comparison,
        kind="equivalent",
        low=low,
        high=high,
        p_value=max(comparison.p_above(low), comparison.p_below(high)),
    )


def _check(margin: float, *, least: float) -> None:
    if not (math.isfinite(margin) and margin >= least):
        words = "0 or above" if least == 0 else "above 0"
        raise Refusal("bad_margin", f"A margin here is finite and {words}, not {margin}.")
