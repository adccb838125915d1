"""What a study says never reached its records, as the pages tell it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from workbench.article.text import counted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from workbench.castings.family_readings import FamilyReadings
    from workbench.records.truncation_table import Truncation

LEFT = "this is of what was kept, not of what was cast"


def stated_words(stated: Iterable[Truncation]) -> str:
    """Say each entry as a sentence; nothing where there is none."""
    return "".join(f" {one.words[:1].upper()}{one.words[1:]}." for one in stated)


def kept_words(of: FamilyReadings) -> str:
    """Say what was not kept of a family's readings, and what fits make of it."""
    said = stated_words(of.why)
    if truncated(of):
        said += " Fits are of all such readings, kept or not."
    if of.left_out:
        said += (
            f" {counted(of.left_out, 'reading')} beyond that, which not every gauge or calibration "
            "here could show, left out of the fits."
        )
    if any(one.of == "blocks" for one in of.why):
        said += (
            " No fit to readings can undo the sorting of blocks: those here are of the blocks left."
        )
    return said


def as_kept_words(stated: Sequence[Truncation]) -> str:
    """Say what was not kept where an analysis takes no account of it; nothing where all was."""
    if not stated:
        return ""
    return f"{stated_words(stated)} Nothing here takes account of that: {LEFT}."


def truncated(of: FamilyReadings) -> bool:
    """Tell whether some readings would not have been kept."""
    return any(math.isfinite(end) for end in of.window)
