"""Tables of gauges held against each other: studies, agreements, impressions, what was left out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.article.names import quantity_label
from workbench.article.numbers import estimate_words, p_words, percent
from workbench.article.record_tables import MOST_ROWS, shortened
from workbench.article.tables import Table
from workbench.article.text import counted
from workbench.inference.measuring.gauge_study import (
    GAUGE,
    INTERACTION,
    OPERATOR,
    PART,
    REPEATABILITY,
    REPRODUCIBILITY,
)
from workbench.records.rounding import interval_text, quantity_text

if TYPE_CHECKING:
    from workbench.castings.gauge_agreement import RecordedAgreement
    from workbench.castings.gauge_studies import RecordedStudy
    from workbench.castings.impressions import ImpressionSpread
    from workbench.castings.observers import FamilyShare, ObserverAgreement
    from workbench.castings.struck_out import Fate
    from workbench.records.settings import Settings

FIGURES = (REPEATABILITY, REPRODUCIBILITY, GAUGE, PART)
OWN = "a difference between them holds that of the blocks each was given"


def gauge_study_table(found: RecordedStudy, settings: Settings) -> Table:
    """Give the spread of one gauge study: each part with its interval and its share."""
    label = quantity_label(settings, found.quantity)
    caption = f"Gauge study of {label.lower()} over {found.factor}s"
    if found.study is None:
        return Table(
            caption=caption,
            columns=("Spread", "Standard deviation (interval)", "Share of the variance"),
            rows=(),
            note=f"None can be made: {found.why}.",
        )
    study, confidence = found.study, settings.confidence
    rows = []
    for figure in FIGURES:
        made = {REPRODUCIBILITY: (OPERATOR, INTERACTION)}.get(figure, (figure,))
        if figure == REPRODUCIBILITY and not any(name in study.components for name in made):
            continue
        ends = study.interval(figure, confidence)
        rows.append(
            (
                figure if figure != PART else "places of blocks",
                estimate_words(study.sd(figure), ends.low, ends.high, found.unit),
                f"{100 * study.share(figure):.1f}%",
            )
        )
    return Table(
        caption=caption,
        columns=("Spread", "Standard deviation (interval)", "Share of the variance"),
        rows=tuple(rows),
        numeric=(2,),
        note=study_note(found, settings),
    )


def study_note(found: RecordedStudy, settings: Settings) -> str:
    """Say how a gauge study was made, what it rests on, and what it cannot tell."""
    study = found.study
    assert study is not None
    named = ", ".join(label or "not named" for label in found.labels)
    of = f"{len(found.labels)} {found.factor}s ({named})" if len(found.labels) > 1 else named
    method = _named(study.method, found.factor).capitalize()
    words = (
        f"{method}: {counted(study.readings, 'reading')} at "
        f"{counted(study.parts, 'place')} of {found.places:,} read more than once, by {of}; "
        f"intervals at {percent(settings.confidence)}."
    )
    tells = study.categories()
    words += (
        f" {counted(math.floor(tells), 'kind')} of places can be told apart (common practice wants "
        "five)."
        if math.isfinite(tells)
        else ""
    )
    fine = study.resolution(found.step)
    words += f" Step of the display {quantity_text(found.step, unit=found.unit)}"
    words += (
        f", {fine.to_repeatability:.1f} of the repeatability" if study.sd(REPEATABILITY) else ""
    )
    words += "." if fine.fine else ": too coarse for this spread."
    if found.design == "nested":
        words += f" Each of the {found.factor}s read places of its own: {OWN}."
    if found.together:
        words += " Gauges and operators changed together here and cannot be told apart."
    if study.negative:
        zero = ", ".join(_named(name, found.factor) for name in study.negative)
        words += f" Estimated at zero: {zero}."
    return words


def _named(words: str, factor: str) -> str:
    """Say “place” and the factor's name where the method says “part” and “operator”."""
    return words.replace(OPERATOR, factor).replace(PART, "place")


def agreements_table(found: Sequence[RecordedAgreement], settings: Settings) -> Table:
    """Compare each two gauges and operators on the places both read."""
    rows = []
    for pair in found:
        name = f"{quantity_label(settings, pair.quantity)}: {pair.first} minus {pair.second}"
        if pair.found is None:
            rows.append((name, pair.factor, f"{len(pair.pairs):,}", "", "", f"{pair.why}."))
            continue
        bias = pair.found.bias
        ends = bias.interval(settings.confidence)
        limits = pair.found.limits(settings.confidence)
        rows.append(
            (
                name,
                pair.factor,
                f"{pair.found.pairs:,}"
                + (f" in {pair.found.groups:,} blocks" if pair.found.groups else ""),
                estimate_words(
                    bias.estimate, ends.low, ends.high, pair.unit, uncertainty=bias.standard_error
                ),
                p_words(bias.p_value()),
                interval_text(
                    limits.low.estimate,
                    limits.high.estimate,
                    pair.unit,
                    uncertainty=pair.found.sd,
                ),
            )
        )
    return Table(
        caption="Two gauges, or two operators, at the same places",
        columns=(
            "First minus second",
            "Over",
            "Places",
            "Bias (interval)",
            "p",
            "Limits of agreement",
        ),
        rows=tuple(rows[:MOST_ROWS]),
        numeric=(2,),
        note=(
            f"Corrected readings; bias at {percent(settings.confidence)}. Between the limits of "
            "agreement lie 95% of single differences. A correlation of the two would say nothing "
            "of agreement, and none is given." + shortened(len(rows), MOST_ROWS, "pair")
            if rows
            else "No place was read by two gauges or two operators."
        ),
    )


def impressions_table(found: Sequence[ImpressionSpread], settings: Settings) -> Table:
    """Give the hardness readings a place has, and how they scatter there, by gauge and scale."""
    rows = tuple(
        (
            f"{quantity_label(settings, of.quantity)}, {of.gauge or 'gauge not named'} ({of.unit})",
            f"{of.places:,}",
            f"{of.fewest}" if of.fewest == of.most else f"{of.fewest} to {of.most}",
            _sd(of.sd, of.unit) if of.degrees_of_freedom else "nothing was repeated",
            f"{_sd(of.least_sd, of.unit)} to {_sd(of.largest_sd, of.unit)}"
            if of.degrees_of_freedom
            else "",
        )
        for of in found
    )
    return Table(
        caption="Hardness readings a place, and how they scatter there",
        columns=(
            "Quantity, gauge and scale",
            "Places",
            "Readings a place",
            "Scatter of one reading",
            "From place to place",
        ),
        rows=rows[:MOST_ROWS],
        numeric=(1, 2, 3),
        note="Standard deviations about the mean of the place. Scales are never mixed."
        if rows
        else "No hardness was read.",
    )


def _sd(sd: float, unit: str) -> str:
    return f"{float(f'{sd:.2g}'):g} {unit}"


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


def features_table(
    shares: Sequence[FamilyShare], seen: Sequence[ObserverAgreement], settings: Settings
) -> Table:
    """Give the share of blocks that show each feature, and how far those who looked agree."""
    rows = []
    for share in shares:
        if share.count is None or share.wilson is None or share.clopper_pearson is None:
            continue
        rows.append(
            (
                quantity_label(settings, share.quantity),
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
