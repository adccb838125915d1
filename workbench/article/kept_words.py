"""What a study says never reached its records, as the pages tell it."""

from __future__ import annotations

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
    if of.truncated:
        said += " Fits are of all such readings, kept or not."
        tested = int(of.shared[0]["n"].sum())
        if tested < of.size:
            said += (
                f" Tests of fit are of the {counted(tested, 'reading')} within the range that "
                "every gauge and calibration here could show."
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
