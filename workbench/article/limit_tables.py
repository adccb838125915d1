"""Tables of walls at limits: what conforms, what does not, and what a rule does to many blocks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.article.numbers import percent
from workbench.article.tables import Table
from workbench.castings.limits import WORDS, chance
from workbench.castings.walls_at_limits import LEAST_BLOCKS
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from workbench.castings.walls_at_limits import WallsAtLimit
    from workbench.records.settings import Settings


def limits_table(held: Sequence[WallsAtLimit], settings: Settings) -> Table:
    """Count, duty by duty, the blocks whose thinnest wall conforms, does not, or is too close."""
    rows = tuple(
        (
            of.duty,
            quantity_text(of.least, unit=of.unit),
            *(f"{of.count(outcome):,}" for outcome in WORDS),
            of.nearest().sentence,
            of.note,
        )
        for of in held
    )
    return Table(
        caption="The thinnest wall read of each block against the least wall of a duty",
        columns=(
            "Duty",
            "Least wall",
            "Blocks that conform",
            "do not",
            "are too close to call",
            "Nearest to the limit",
            "Where the limit is from",
        ),
        rows=rows,
        numeric=(1, 2, 3, 4),
        note=(
            f"At {percent(settings.confidence)}: a wall conforms when it lies above the limit by "
            "the guard band or more (ISO 14253-1:2017, from memory), and is called neither way "
            "within it. A block with a place read only as not above a value is never said to "
            "conform. The limits are common practice, not a standard."
            if rows
            else "The study states no duty with a least wall."
        ),
    )


def limit_risks_table(held: Sequence[WallsAtLimit], settings: Settings) -> Table:
    """Give what passing or failing every block by its thinnest wall read does to a family."""
    rows = tuple(
        (
            of.duty,
            settings.family_label(found.family),
            f"{found.blocks:,}",
            *(
                chance(share)
                for share in (
                    found.risks.conforming,
                    found.risks.accepted,
                    found.risks.consumer,
                    found.risks.producer,
                )
            ),
        )
        for of in held
        for found in of.families
    )
    return Table(
        caption="Risks of passing blocks by their thinnest wall",
        columns=(
            "Duty",
            "Family",
            "Blocks",
            "Thick enough",
            "Would pass",
            "Pass though too thin",
            "Do not pass though thick enough",
        ),
        rows=rows,
        numeric=(2, 3, 4, 5, 6),
        note=(
            "Of all blocks of a family, were each passed when its thinnest wall read lies above "
            "the limit by the guard band (JCGM 106, 9.5). The thinnest walls are taken as normal, "
            "spread as those read are less the error of measuring; a block with a place read only "
            "as not above a value is left out here, so a family that has one is thinner than this. "
            f"A family is told of from {LEAST_BLOCKS} blocks up."
        ),
    )
