"""Readings far from all others behind a claim, and whether the verdict hangs on them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pandas as pd

from workbench.castings.inspection import CORE_SHIFT
from workbench.castings.places import WALL
from workbench.claims.claim import Claim
from workbench.claims.verdict import Threat, Verdict
from workbench.records.far_off import far_off
from workbench.records.rounding import interval_text, p_text, quantity_text
from workbench.records.settings import Settings


def with_far_off(
    claim: Claim,
    verdict: Verdict,
    cells: pd.DataFrame,
    settings: Settings,
    without: Callable[[pd.DataFrame], Verdict],
) -> Verdict:
    """Put the threat of readings far off among the first of a verdict, where there are any.

    Parameters
    ----------
    claim : Claim
        The claim judged.
    verdict : Verdict
        The verdict on it.
    cells : pandas.DataFrame
        The reduction of the study.
    settings : Settings
        The study's settings.
    without : callable
        Judges the claim again on the cells it is given.
    """
    quantities = {claim.quantity} | ({WALL} if claim.quantity == CORE_SHIFT else set())
    concerned = cells[
        cells["quantity"].isin(quantities)
        & cells["family"].isin((claim.candidate, claim.reference))
    ]
    found = far_off(concerned, settings.quantities)
    if not found:
        return verdict
    lost = [label for one in found for label in one.cells.index]
    again = without(cells.drop(index=lost))
    threat = Threat(
        code="far_off",
        text=f"{' '.join(one.sentence for one in found)} Without these places "
        f"the claim would be {_said(again, verdict)}.",
    )
    first = 0 if verdict.has_numbers else 1  # why there are none comes before
    ahead, after = verdict.warnings[:first], verdict.warnings[first:]
    return replace(verdict, warnings=(*ahead, threat, *after))


def _said(again: Verdict, verdict: Verdict) -> str:
    """Say how a claim comes out without the places, beside the verdict with them."""
    outcome = f"{again.outcome}{' as well' if again.outcome == verdict.outcome else ''}"
    if not again.has_numbers:
        return outcome
    error, unit = again.standard_error, again.unit
    estimate = quantity_text(again.estimate, error, unit, again.finest)
    interval = interval_text(again.low, again.high, unit, uncertainty=error, step=again.finest)
    return f"{outcome} ({estimate}, {interval}; {p_text(again.told_p)})"
