"""The cautions beside every figure of fitness or boring; the one place for their text."""

from __future__ import annotations

LIMITS = (
    "Wall and deck limits are common practice, not a standard: a block's limit depends on its "
    "design, fuel and duty."
)
UNSEEN = (
    "A thickness map finds no cracks, porosity or corrosion: pressure test and crack detection "
    "remain."
)
JUDGEMENT = (
    "Final judgement rests with a qualified machinist or engineer who has the block in hand, and "
    "with the rules of the series or the law of the place."
)
CAUTIONS = (LIMITS, UNSEEN, JUDGEMENT)
