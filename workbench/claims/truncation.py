"""What was never kept, held against a claim: no analysis here can undo it, so each verdict says so.

The mean of what is left is not the mean of what was cast. And a share below a limit under which
nothing was kept is no share at all: it is refused.
"""

from __future__ import annotations

from collections.abc import Iterator

from workbench.castings.kept import check_limit_kept, kept_everywhere
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.verdict import Threat
from workbench.records.settings import Settings
from workbench.records.truncation_table import Truncation, truncations_of

SHIFT, WALL = "core_shift", "wall_thickness"  # a shift is derived from walls where nobody read it


def truncation_threats(
    claim: Claim, settings: Settings, evidence: Evidence | None
) -> Iterator[Threat]:
    """Warn of each entry that cut readings or blocks of a family of the claim."""
    found: dict[str, list[str]] = {}
    entries: dict[str, Truncation] = {}
    for family in (claim.candidate, claim.reference):
        for one in _concerning(claim, family, settings, evidence):
            found.setdefault(one.words, []).append(settings.family_label(family))
            entries[one.words] = one
    for words, labels in found.items():
        what = "blocks" if entries[words].of == "blocks" else "readings"
        yield Threat(
            code="truncated",
            text=f"Of the {' and the '.join(labels)} blocks {words}. The verdict rests on the "
            f"{what} that were kept, and no analysis here takes account of the others: "
            f"{_effect(claim, entries[words])}.",
        )


def check_kept(claim: Claim, evidence: Evidence, settings: Settings) -> None:
    """Refuse a share below a limit beyond which no reading of a family could be in the records.

    Raises
    ------
    Refusal
        `limit_not_kept`.
    """
    assert claim.threshold is not None
    for family in (claim.candidate, claim.reference):
        stated = list(_concerning(claim, family, settings, evidence))
        kept = kept_everywhere(stated, evidence.names(family, "gauge"), evidence.unit)
        whose = f"{settings.family_label(family)} blocks"
        check_limit_kept(claim.threshold, kept, evidence.unit, whose)


def _concerning(
    claim: Claim, family: str, settings: Settings, evidence: Evidence | None
) -> Iterator[Truncation]:
    """Give the entries that bear on a family of the claim."""
    quantities = (claim.quantity, WALL) if claim.quantity == SHIFT else (claim.quantity,)
    for quantity in quantities:
        for one in truncations_of(settings.truncations, quantity, family):
            if one.of == "blocks" and claim.scope == "block":
                continue  # of the blocks measured, none is missing
            if (
                one.gauge is None
                or evidence is None
                or one.gauge in evidence.names(family, "gauge")
            ):
                yield one


def _effect(claim: Claim, one: Truncation) -> str:
    """Say which way what is left is off."""
    if claim.quantity == SHIFT:
        return "walls that are missing make a shift look smaller than it is"
    if claim.figure == "spread":
        return "what is left varies less than what was cast"
    both = one.kept_from is not None and one.kept_to is not None
    way = "too high" if one.kept_from is not None else "too low"
    if claim.figure == "share_below":
        way = {"too high": "too small", "too low": "too large"}[way]
        off = "is off" if both else f"is {way}"
        return f"the share of what is left {off} for what was cast"
    figure = "thinnest place" if claim.figure == "thinnest" else "mean"
    off = "is not that of what was cast" if both else f"lies {way} for what was cast"
    return f"the {figure} of what is left {off}, and a difference of families is off with it"
