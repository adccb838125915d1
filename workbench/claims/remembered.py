"""Ranges people remember, held beside what was measured: compared in a sentence, never deciding."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.verdict import Threat
from workbench.errors import Refusal
from workbench.inference.samples import Values
from workbench.records.settings import Remembered, Settings
from workbench.records.units import canonical_unit, factor


def remembered_ranges(
    claim: Claim, evidence: Evidence | None, settings: Settings
) -> Iterator[Threat]:
    """Compare each range remembered of a family of the claim with the block means measured."""
    for item in settings.remembered:
        if item.quantity != claim.quantity or item.family not in (claim.candidate, claim.reference):
            continue
        label = settings.family_label(item.family)
        yield Threat(
            code="remembered_range",
            text=f"A remembered range, drawn beside the data and without a say: "
            f"{item.low:g} to {item.high:g} {item.unit} for {label} blocks ({item.who})."
            f"{_compared(item, evidence, label)}",
        )


def _compared(item: Remembered, evidence: Evidence | None, label: str) -> str:
    """Say how many of the blocks measured have their mean in the range."""
    if evidence is None or item.family not in evidence.counts:
        return ""
    try:
        scale = factor(canonical_unit(item.unit) or item.unit, evidence.unit)
    except Refusal:
        return ""
    means = _block_means(evidence, item.family)
    low, high = item.low * scale, item.high * scale
    below, above = int((means < low).sum()), int((means > high).sum())
    inside = means.size - below - above
    if means.size == 1:
        where = "in it" if inside else "below it" if below else "above it"
        return f" The mean of the one {label} block measured lies {where}."
    return (
        f" Of the {means.size} {label} blocks measured {inside} have their mean in it, {below} "
        f"below and {above} above."
    )


def _block_means(evidence: Evidence, family: str) -> Values:
    cells = evidence.of(family)
    sums = (cells["n"] * cells["mean"]).groupby(cells["block"]).sum()
    return np.asarray(sums / cells["n"].groupby(cells["block"]).sum(), dtype=float)
