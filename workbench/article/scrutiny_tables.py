"""Tables of what a claim rests on: without each block, place by place, blocks and what is odd."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.article.figures.rests_on import deciding_words
from workbench.article.numbers import estimate_words, p_words, percent, share_words, verdict_words
from workbench.article.tables import Table
from workbench.article.text import clean
from workbench.article.verdict_tables import LEVELS
from workbench.claims.evidence import SEPARATOR
from workbench.errors import Refusal
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    import pandas as pd

    from workbench.claims.model_checks import FamilySpreads
    from workbench.claims.one_block import BlockByBlock, Spared
    from workbench.claims.place_by_place import PlaceByPlace
    from workbench.claims.verdict import Verdict
    from workbench.inference.nested.blocks import BlockPrediction
    from workbench.inference.nested.residuals import Effects
    from workbench.records.settings import Settings

SHOWN = 5  # blocks that move most
MOST = 12
AT_EACH_END = 2
MOST_FAR = 3


def without_table(verdict: Verdict, blocks: BlockByBlock, settings: Settings) -> Table:
    """Set the claim beside itself without the blocks that decide, or move it most."""
    rows: list[tuple[str, ...]] = [
        ("none", verdict_words(verdict, verdict), p_words(verdict.p_value), verdict.outcome)
    ]
    rows += [_without(verdict, blocks, one, settings) for one in blocks.most(SHOWN)[:MOST]]
    return Table(
        caption=f"The claim {verdict.claim} without one block",
        columns=(
            "Block left out",
            f"Difference ({percent(verdict.confidence)} interval)",
            "p at the margin",
            "Outcome",
        ),
        rows=tuple(rows),
        note=f"{deciding_words(blocks, settings)} The analysis is the one that decides; shown are "
        "the blocks that change the verdict, then those that move the difference most. Blocks so "
        "near the others that they could not were not fitted again.",
    )


def _without(
    verdict: Verdict, blocks: BlockByBlock, one: Spared, settings: Settings
) -> tuple[str, str, str, str]:
    name = f"{settings.family_label(one.family)} {one.block}"
    if one.decision is None or one.estimate is None:
        return name, one.reason, "", blocks.outcome_of(one)
    ends = one.decision.interval
    words = estimate_words(
        one.estimate,
        ends.low,
        ends.high,
        verdict.unit,
        uncertainty=verdict.standard_error,
        step=verdict.finest,
    )
    return name, words, p_words(one.decision.p_value), one.decision.outcome


def places_table(verdict: Verdict, places: Sequence[PlaceByPlace]) -> Table:
    """Give the difference at each place, and whether it is the same everywhere."""
    rows = [
        (
            f"{of.by} {place}",
            estimate_words(
                found.estimate,
                of.intervals[place].low,
                of.intervals[place].high,
                verdict.unit,
                uncertainty=found.standard_error,
                step=verdict.finest,
            ),
        )
        for of in places
        for place, found in of.differences.items()
    ]
    told = " ".join(
        f"One difference at every {of.by}: {p_words(of.p_value)}; most at {clean(of.most, 40)}, "
        f"least at {clean(of.least, 40)}."
        for of in places
    )
    return Table(
        caption=f"The claim {verdict.claim} place by place",
        columns=("At", f"Difference ({percent(verdict.confidence)} interval)"),
        rows=tuple(rows),
        note=f"{told} Intervals of one kind of place hold together. That a difference is shown at "
        "one place and not at another does not show that the two differ; the p does.",
    )


def odd_table(verdict: Verdict, levels: Sequence[Effects], settings: Settings) -> Table:
    """Say of each level whether its effects scatter as the model has it, and what stands out."""
    rows = []
    for effects in levels:
        name = LEVELS.get(effects.level, effects.level)
        try:
            found = effects.normality()
        except Refusal as refusal:
            rows.append((name, f"{int(effects.told.sum()):,}", "", "", str(refusal)))
            continue
        far = effects.outstanding()
        far = far.reindex(far["standardised"].abs().sort_values(ascending=False).index)
        named = "; ".join(_named(row, settings) for _, row in far.head(MOST_FAR).iterrows())
        rows.append(
            (
                name,
                f"{found.n:,}",
                f"{found.largest:+.2f} ({p_words(found.largest_p)})",
                p_words(found.shapiro_p),
                named or "none",
            )
        )
    return Table(
        caption=f"The claim {verdict.claim}: do blocks, bores and readings scatter as taken?",
        columns=("Between", "How many", "Farthest out", "Normal (Shapiro-Wilk)", "Stand out"),
        rows=tuple(rows),
        numeric=(1,),
        note="Farthest out in standard deviations, with the chance of one as far among so many. "
        "What stands out is named, and nothing is dropped: look at those readings again. One "
        "spread is taken for both families here.",
    )


def _named(row: pd.Series, settings: Settings) -> str:
    """Name a block, a bore or a place of a bore, with how far out it is."""
    family, _, block = str(row["block"]).partition(SEPARATOR)
    words = [settings.family_label(family), block]
    words += [f"bore {row['bore']}"] if row.get("bore") else []
    words += [str(row[name]) for name in ("station", "depth") if row.get(name)]
    return f"{clean(' '.join(words), 80)} ({row['standardised']:+.1f})"


def predicted_table(
    verdict: Verdict, predicted: Sequence[BlockPrediction], settings: Settings
) -> Table:
    """Give the blocks with the least and the greatest predicted mean of each family."""
    rows = []
    for family in (verdict.candidate, verdict.reference):
        mine = sorted(
            (one for one in predicted if one.block.split(SEPARATOR)[0] == family),
            key=lambda one: one.estimate,
        )
        ends = mine if len(mine) <= 2 * AT_EACH_END else mine[:AT_EACH_END] + mine[-AT_EACH_END:]
        rows += [_predicted(verdict, one, settings) for one in ends]
    return Table(
        caption=f"The claim {verdict.claim}: the lowest and the highest blocks of each family",
        columns=(
            "Block",
            "As read",
            f"Likely true mean ({percent(verdict.confidence)} interval)",
            "Kept of its distance",
        ),
        rows=tuple(rows),
        numeric=(3,),
        note="The likely mean of a block is drawn from what its own readings say towards its "
        "family's mean, the more so the less its readings tell: the farthest of many are partly "
        "so by chance. All places weigh alike. Measuring errors that all readings share are not "
        "counted in.",
    )


def _predicted(
    verdict: Verdict, one: BlockPrediction, settings: Settings
) -> tuple[str, str, str, str]:
    family, _, block = one.block.partition(SEPARATOR)
    ends = one.interval(verdict.confidence)
    given = {"uncertainty": one.standard_error, "step": verdict.finest}
    return (
        f"{settings.family_label(family)} {block}",
        quantity_text(one.own_mean, one.standard_error, verdict.unit, verdict.finest),
        estimate_words(one.estimate, ends.low, ends.high, verdict.unit, **given),
        share_words(one.kept),
    )


def spreads_table(verdict: Verdict, found: FamilySpreads, settings: Settings) -> Table:
    """Set the spreads of the two families beside each other, level by level."""
    ours, others = (settings.family_label(of) for of in (verdict.candidate, verdict.reference))
    rows = []
    for level, pair in found.deviations.items():
        ratio = found.ratios.get(level)
        rows.append(
            (
                " and ".join(LEVELS.get(name, name) for name in (*found.merged, level))
                if level == "residual"
                else LEVELS.get(level, level),
                *(
                    quantity_text(one, one / 10, verdict.unit)
                    if one
                    else quantity_text(0.0, unit=verdict.unit)
                    for one in pair
                ),
                estimate_words(ratio.estimate, ratio.low, ratio.high, "") if ratio else "",
            )
        )
    return Table(
        caption=f"The claim {verdict.claim}: do the families share their spreads?",
        columns=("Between", ours, others, f"Ratio ({percent(verdict.confidence)} interval)"),
        rows=tuple(rows),
        numeric=(1, 2),
        note=f"Standard deviations, each family fitted with its own; ratio of {clean(ours, 40)} to "
        f"{clean(others, 40)} by the profile of the likelihood. {found.told}".strip()
        if rows
        else f"The spreads of the families cannot be told apart: {found.told}",
    )
