"""Tables of readings that enter no mean: what was struck out, and means with censored readings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.article.names import quantity_label
from workbench.article.numbers import estimate_words, percent
from workbench.article.tables import Table
from workbench.article.text import counted
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from workbench.castings.censored_means import CensoredMean
    from workbench.castings.struck_out import Fate
    from workbench.records.settings import Settings


def struck_out_table(found: Sequence[Fate], rows_in: int) -> Table:
    """Count what enters no mean, and what does, corrected or as shown."""
    return Table(
        caption="What was struck out, and why",
        columns=("Readings", "Number", "Why"),
        rows=tuple((of.name, f"{of.readings:,}", of.why) for of in found),
        numeric=(1,),
        note=f"{counted(rows_in, 'row')} in. A row is counted once, under the first reason that "
        "holds.",
    )


def censored_table(found: Sequence[CensoredMean], settings: Settings) -> Table:
    """Give the means of families with readings at or below a limit, without and with them."""
    return Table(
        caption="Means with the readings known only to be not above a value",
        columns=(
            "Quantity",
            "Family",
            "Readings seen",
            "Not above a value",
            "Mean of those seen",
            "Mean with all (interval)",
        ),
        rows=tuple(_censored_row(of, settings) for of in found),
        numeric=(2, 3),
        note=(
            f"By the likelihood of a normal, in which such a reading counts as the chance of lying "
            f"below; intervals at {percent(settings.confidence)}, too short where readings of a "
            "block are alike. Claims rest on the readings seen, and say what the others could "
            "change."
        ),
    )


def _censored_row(of: CensoredMean, settings: Settings) -> tuple[str, ...]:
    words = of.why
    error = None
    if of.fitted is not None:
        ends = of.fitted.mean_interval(settings.confidence)
        error = of.fitted.mean_standard_error
        words = estimate_words(of.fitted.mean, ends.low, ends.high, of.unit, uncertainty=error)
    seen = quantity_text(of.mean_seen, error, of.unit) if of.seen else ""
    return (
        quantity_label(settings, of.quantity),
        settings.family_label(of.family),
        f"{of.seen:,}",
        f"{of.below:,}",
        seen,
        words,
    )
