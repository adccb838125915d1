"""Tables of what was judged: the ledger, one claim beside its checks, its threats, the spread."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from workbench.article.numbers import p_words, percent, share_words, verdict_words
from workbench.article.record_tables import MOST_ROWS, shortened
from workbench.article.shared_threats import shared_threats
from workbench.article.tables import Table
from workbench.article.text import counted
from workbench.castings.inspection import CORE_SHIFT
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from workbench.article.sample import Sample
    from workbench.claims.judgement import Judgement
    from workbench.claims.verdict import Check, Effect, Threat, Verdict
    from workbench.records.settings import Settings

LEVELS = {
    "block": "blocks of a family",
    "bore": "bores of a block",
    "place": "places of a bore",
    "residual": "readings of one place",
}
TOGETHER = {
    "holm": "Holm",
    "hochberg": "Hochberg",
    "benjamini_hochberg": "Benjamini-Hochberg",
    "benjamini_yekutieli": "Benjamini-Yekutieli",
}
AFTER = {None: "not decided", True: "stands", False: "does not stand"}


def verdicts_table(judgement: Judgement) -> Table:
    """List every claim of the ledger with its outcome and numbers."""
    everywhere = shared_threats(judgement.verdicts)
    rows = tuple(
        (
            verdict.claim,
            verdict.statement,
            verdict.outcome,
            verdict_words(verdict, verdict),
            p_words(verdict.told_p),
            f"{verdict.candidate_blocks:,} / {verdict.reference_blocks:,}",
            AFTER[verdict.stands_after_adjustment],
            ", ".join(worded(t) for t in verdict.warnings if t not in everywhere),
        )
        for verdict in judgement.verdicts
    )
    said = "".join(f" Of every claim: {t.text} ({worded(t)})" for t in everywhere)
    return Table(
        caption="Verdicts",
        columns=(
            "Claim",
            "What is claimed",
            "Outcome",
            "Difference (interval)",
            "p at the margin",
            "Blocks, candidate / reference",
            "After adjustment",
            "Warnings",
        ),
        rows=rows[:MOST_ROWS],
        note=(
            f"Intervals at {percent(judgement.confidence)}, candidate minus reference. After "
            f"adjustment: Holm over all claims of the ledger.{said}"
            + shortened(len(rows), MOST_ROWS, "claim")
        ),
    )


def worded(threat: Threat) -> str:
    """Give the code of a threat as words, so that a column of them can be narrow."""
    return threat.code.replace("_", " ")


def together_table(judgement: Judgement) -> Table:
    """Set the p of each claim beside what it is when all claims are asked together."""
    known = [verdict for verdict in judgement.verdicts if verdict.adjusted]
    return Table(
        caption="All claims asked together",
        columns=("Claim", "Outcome", "Deciding p", *TOGETHER.values()),
        rows=tuple(
            (
                verdict.claim,
                verdict.outcome,
                p_words(verdict.deciding_p),
                *(p_words(dict(verdict.adjusted)[name]) for name in TOGETHER),
            )
            for verdict in known[:MOST_ROWS]
        ),
        note=f"The family of claims is the whole ledger: {counted(len(judgement.asked), 'claim')}, "
        "those without numbers counted with p = 1. Holm and Hochberg bound the chance of any "
        "false claim, the last two the share of false ones among the claims made. Holm decides "
        f"what stands.{shortened(len(known), MOST_ROWS, 'claim')}",
    )


def checks_table(verdict: Verdict) -> Table:
    """Set the deciding analysis of a claim beside the checks."""
    first = (
        f"{verdict.method or 'deciding analysis'} (decides)",
        verdict_words(verdict, verdict),
        p_words(verdict.told_p),
        verdict.outcome,
        "",
    )
    return Table(
        caption=f"Analyses of the claim {verdict.claim}",
        columns=("Analysis", "Difference (interval)", "p at the margin", "Outcome", "Note"),
        rows=(first, *(check_row(check, verdict) for check in verdict.checks)),
        note=f"Intervals at {percent(verdict.confidence)}, candidate minus reference.",
    )


def check_row(check: Check, verdict: Verdict) -> tuple[str, ...]:
    """Give one check as a row."""
    return (
        check.name,
        verdict_words(check, verdict),
        p_words(check.p_value),
        check.outcome or "decides nothing",
        check.note,
    )


def effects_table(verdict: Verdict) -> Table:
    """Give the size of the difference in other terms than its unit."""
    noted = any(effect.note for effect in verdict.effects)
    columns = ("In terms of", f"Size ({percent(verdict.confidence)} interval)", "Note")
    rows = ((effect.name, effect_words(effect), effect.note) for effect in verdict.effects)
    return Table(
        caption=f"How large the difference of the claim {verdict.claim} is",
        columns=columns if noted else columns[:2],
        rows=tuple(row if noted else row[:2] for row in rows),
        note="One number a block; the first is the candidate. An error of measuring that all "
        "readings share is counted in the verdict, not here."
        if verdict.effects
        else "Given for claims on the mean of families that were read, and for no other.",
    )


def effect_words(effect: Effect) -> str:
    """Give a size with its interval.

    >>> from workbench.claims.verdict import Effect
    >>> effect_words(Effect(name="more", unit="%", estimate=12.661, low=11.734, high=13.594))
    '12.66% (11.73% to 13.59%)'
    """
    if not math.isfinite(effect.estimate):
        return ""
    if effect.unit == "share":
        return share_words(effect.estimate, effect.low, effect.high)
    ends = (effect.estimate, effect.low, effect.high)
    error = (effect.high - effect.low) / 4
    middle, low, high = (quantity_text(end, error, "") + effect.unit for end in ends)
    return f"{middle} ({low} to {high})"


def warnings_table(verdict: Verdict) -> Table:
    """List what in the records could make a verdict wrong."""
    return Table(
        caption=f"Warnings on the claim {verdict.claim}",
        columns=("Code", "What it means"),
        rows=tuple((threat.code, threat.text) for threat in verdict.warnings),
        note="" if verdict.warnings else "None.",
    )


def components_table(
    label: str, deviations: Iterable[tuple[str, float]], unit: str, note: str = ""
) -> Table:
    """Give the spread at each level: standard deviation, and share of the total variance."""
    rows = spread_rows(deviations, unit)
    return Table(
        caption=f"{label}: where the spread comes from",
        columns=("Between", "Standard deviation", "Share of the variance"),
        rows=rows,
        numeric=(1, 2),
        note=note or ("" if rows else "No model was fitted, so the spread is not split."),
    )


def spread_rows(deviations: Iterable[tuple[str, float]], unit: str) -> tuple[tuple[str, ...], ...]:
    """Give level, standard deviation and share of the variance; shares are of what is given."""
    found = tuple(deviations)
    total = sum(deviation**2 for _, deviation in found)
    return tuple(
        (
            LEVELS.get(name, name),
            quantity_text(deviation, deviation / 10, unit)
            if deviation
            else quantity_text(0.0, unit=unit),
            f"{100 * deviation**2 / total:.0f}%" if total > 0 else "",
        )
        for name, deviation in found
    )


def claim_spread_table(verdict: Verdict, settings: Settings) -> Table:
    """Give the spread a claim was judged by: of both families, or family by family."""
    families = (verdict.candidate, verdict.reference)
    own = {
        family: [
            (name.removesuffix(f", {family}"), deviation)
            for name, deviation in verdict.components
            if name.endswith(f", {family}")
        ]
        for family in families
    }
    if not all(own.values()):
        return components_table("The claim", whole_levels(verdict), verdict.unit)
    made = components_table("The claim", (), verdict.unit, note="Shares are of each family's own.")
    rows = tuple(
        (f"{level}, {settings.family_label(family)}", deviation, share)
        for family in families
        for level, deviation, share in spread_rows(own[family], verdict.unit)
    )
    return replace(made, rows=rows)


def whole_levels(verdict: Verdict) -> tuple[tuple[str, float], ...]:
    """Name the level that holds all others, where the readings cannot tell them apart."""
    names = [name for name, _ in verdict.components]
    last = LEVELS["residual"]
    if names == ["residual"] and verdict.scope == "family":
        last = f"{LEVELS['block']} and {last}"
    elif verdict.quantity == CORE_SHIFT:
        last = LEVELS["bore"]
    return tuple((last if n == "residual" else n, deviation) for n, deviation in verdict.components)


def means_table(sample: Sample) -> Table:
    """Give each family's mean with its interval and counts."""
    rows = []
    for family in sample.families:
        mean = sample.means[family]
        rows.append(
            (
                sample.labels.get(family, family),
                f"{mean.blocks:,}",
                f"{mean.readings:,}",
                sample.words(family),
            )
        )
    single = [row[0] for row in rows if row[1] == "1"]
    return Table(
        caption=f"{sample.label}: mean of the block means, with its {percent(sample.confidence)} "
        "interval",
        columns=("Family", "Blocks", "Readings", "Mean (interval)"),
        rows=tuple(rows),
        numeric=(1, 2),
        note="Student's t over blocks."
        + (
            f" {counted(len(single), 'family', 'families')} with one block: no interval of its own."
            if single
            else ""
        ),
    )
