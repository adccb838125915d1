"""The table of features seen by eye: shares of blocks, and agreement of those who looked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.article.names import quantity_label
from workbench.article.numbers import percent
from workbench.article.record_tables import MOST_ROWS
from workbench.article.tables import Table
from workbench.castings.observers import level_name

if TYPE_CHECKING:
    from workbench.castings.observers import FamilyShare, ObserverAgreement
    from workbench.records.settings import Settings


def features_table(
    shares: Sequence[FamilyShare], seen: Sequence[ObserverAgreement], settings: Settings
) -> Table:
    """Give the share of blocks that show each feature, and how far those who looked agree."""
    rows = []
    for share in shares:
        if share.count is None or share.wilson is None or share.clopper_pearson is None:
            continue
        known = settings.quantities[share.quantity]
        below = "" if share.below is None else f", below {level_name(known, share.below)}"
        rows.append(
            (
                f"{quantity_label(settings, share.quantity)}{below}",
                settings.family_label(share.family),
                f"{share.count.yes:,} of {share.count.of:,}",
                f"{100 * share.count.share:.0f}%",
                *(
                    f"{100 * ends.low:.0f} to {100 * ends.high:.0f}%"
                    for ends in (share.wilson, share.clopper_pearson)
                ),
                f"{len(share.tied)}" if share.tied else "",
            )
        )
    note = f"Intervals at {percent(settings.confidence)}; a tied block counts on neither side."
    for of in seen:
        label = quantity_label(settings, of.quantity)
        if of.kappa is None:
            note += f" {label}, agreement of those who looked: {of.why}."
            continue
        ends = of.kappa.interval(settings.confidence)
        note += (
            f" {label}: {', '.join(of.observers)} agree on {100 * of.kappa.observed:.0f}% of "
            f"{of.kappa.things} places, {of.kappa.method} {of.kappa.estimate:.2f} "
            f"({ends.low:.2f} to {ends.high:.2f}; 0 is chance, 1 is always)."
        )
    return Table(
        caption="Features seen by eye",
        columns=(
            "Feature",
            "Family",
            "Blocks that show it",
            "Share",
            "Interval (Wilson)",
            "Interval (Clopper-Pearson)",
            "Tied",
        ),
        rows=tuple(rows[:MOST_ROWS]),
        numeric=(2, 3, 6),
        note=note if rows or seen else "No feature was looked at.",
    )
