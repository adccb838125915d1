"""The readings one claim is about: its quantity, its two families."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.figures.readings import readings
from workbench.article.gathering import sample_of
from workbench.errors import Refusal

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.claims.verdict import Verdict
    from workbench.records.settings import Settings
    from workbench.records.store import Records


def claim_readings(
    records: Records, settings: Settings, verdict: Verdict, *, footer: str = ""
) -> Picture | Answer:
    """Draw the readings of a claim's two families, or say why there is nothing to draw."""
    try:
        sample = sample_of(records, settings, verdict.quantity)
    except Refusal as refusal:
        return Answer(paragraphs=(("No readings to draw", str(refusal)),))
    pair = sample.only((verdict.candidate, verdict.reference))
    if not pair.families:
        return Answer(paragraphs=(("No readings to draw", "Neither family was read."),))
    return readings(pair, footer=footer)
