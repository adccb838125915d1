"""The readings one claim is about: its quantity, its two families."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.figures.family_shifts import family_shifts
from workbench.article.figures.readings import readings
from workbench.article.gathering import gathered
from workbench.article.names import family_order
from workbench.castings.bores.shift_of_family import shift_of_family
from workbench.castings.inspection import CORE_SHIFT
from workbench.errors import Refusal

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.claims.verdict import Verdict
    from workbench.records.store import Records
    from workbench.study import Study


def claim_readings(study: Study, verdict: Verdict, *, footer: str = "") -> Picture | Answer:
    """Draw the readings of a claim's two families, or say why there is nothing to draw.

    Core shifts that are derived from the walls are drawn as the vectors they are.
    """
    try:
        if verdict.quantity == CORE_SHIFT and not read(study.records, CORE_SHIFT):
            return shifts_drawn(study, verdict, footer)
        sample = gathered(study, verdict.quantity)
    except Refusal as refusal:
        return Answer(paragraphs=(("No readings to draw", str(refusal)),))
    pair = sample.only((verdict.candidate, verdict.reference))
    if not pair.families:
        return Answer(paragraphs=(("No readings to draw", "Neither family was read."),))
    return readings(pair, footer=footer)


def read(records: Records, quantity: str) -> bool:
    """Tell whether a quantity was read, and not derived."""
    return bool((records.cells["quantity"] == quantity).any())


def shifts_drawn(study: Study, verdict: Verdict, footer: str) -> Picture:
    """Draw the core shift of each block of the two families.

    Raises
    ------
    Refusal
        `no_shift` where a family has none.
    """
    settings = study.settings
    shifts = study.inspect().core_shifts()
    order = family_order(settings, (verdict.candidate, verdict.reference))
    pair = [shift_of_family(shifts, family) for family in order]
    return family_shifts(
        pair,
        settings,
        confidence=settings.confidence,
        labels=settings.family_labels(study.records.blocks["family"]),
        footer=footer,
    )
