"""All claims of a ledger held together: p-values adjusted for how many were asked.

`stands_after_adjustment` of a supported or contradicted claim tells whether it would still be
decided had the whole ledger been asked at once: its deciding p, adjusted by Holm over every entry
of the ledger, is below 1 - confidence. The deciding p is below 1 - confidence exactly when the
claim is decided, either way. Entries without numbers count as asked, with p = 1. Three other
adjustments stand beside Holm's and decide nothing: Hochberg's, and two that bound the share of
false claims among those made instead of the chance of any.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from workbench.claims.verdict import Verdict
from workbench.inference.adjustment import (
    benjamini_hochberg,
    benjamini_yekutieli,
    hochberg,
    holm,
)

DECIDING = "holm"
ADJUSTMENTS: Mapping[str, Callable[[Sequence[float]], np.ndarray]] = {
    DECIDING: holm,
    "hochberg": hochberg,
    "benjamini_hochberg": benjamini_hochberg,
    "benjamini_yekutieli": benjamini_yekutieli,
}


def held_together(verdicts: Sequence[Verdict], confidence: float) -> list[Verdict]:
    """Give the verdicts with their p-values adjusted over all of them."""
    asked = [1.0 if math.isnan(v.deciding_p) else v.deciding_p for v in verdicts]
    found = {name: adjust(asked) for name, adjust in ADJUSTMENTS.items()}
    return [
        _with(verdict, {name: float(p[place]) for name, p in found.items()}, confidence)
        if verdict.has_numbers
        else verdict
        for place, verdict in enumerate(verdicts)
    ]


def _with(verdict: Verdict, adjusted: Mapping[str, float], confidence: float) -> Verdict:
    decided = verdict.outcome != "unresolved"
    return replace(
        verdict,
        adjusted_p=adjusted[DECIDING],
        adjusted=tuple(adjusted.items()),
        stands_after_adjustment=bool(adjusted[DECIDING] < 1 - confidence) if decided else None,
    )
