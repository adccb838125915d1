"""The share of each family that is fit for each duty, and the rule that decides."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.article.block_words import OUTCOMES, rule_text
from workbench.article.numbers import percent
from workbench.article.tables import Table

if TYPE_CHECKING:
    from workbench.castings.family_fitness import FamilyFitness
    from workbench.inference.estimates import Estimate
    from workbench.records.settings import Settings


def family_fitness_table(
    found: Sequence[FamilyFitness], settings: Settings, confidence: float
) -> Table:
    """Give, by family and duty, the share that passes by count and by model, and what decides."""
    rows = tuple(
        (
            settings.family_label(one.family),
            one.label,
            "" if one.passing is None else f"{one.passing.yes} of {one.passing.of}",
            _share(one.by_count),
            _share(one.by_model),
            ", ".join(f"{count} {OUTCOMES[name]}" for name, count in one.proven.items() if count),
            "" if one.decides_most is None else rule_text(one.decides_most),
        )
        for one in found
    )
    notes = " ".join(dict.fromkeys(f"{one.label}: {one.note}." for one in found))
    left = " ".join(
        dict.fromkeys(
            f"{settings.family_label(one.family)}, {one.label}: {why}"
            for one in found
            for why in one.not_answered.values()
        )
    )
    sure = percent(confidence)
    return Table(
        caption="Share of each family that is fit",
        columns=(
            "family",
            "duty",
            "pass",
            f"share by count ({sure} interval)",
            f"share by model ({sure} interval)",
            "proven one by one",
            "rule that decides most often",
        ),
        rows=rows,
        numeric=(2, 3, 4),
        note="A block passes where every figure is on the right side of its limit; it is fit only "
        "where its own readings prove that. Both shares take the blocks as a random sample of the "
        f"family. Limits: {notes} {left}".strip()
        if rows
        else "study.toml states no [fitness.NAME].",
    )


def _share(found: Estimate | None) -> str:
    if found is None:
        return "not answered"
    return f"{100 * found.estimate:.0f}% ({100 * found.low:.0f} to {100 * found.high:.0f}%)"
