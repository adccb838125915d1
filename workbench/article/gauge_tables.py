"""Tables of gauges and operators held against each other: gauge studies and agreements."""

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
from workbench.records.rounding import interval_text

if TYPE_CHECKING:
    from workbench.castings.gauge_agreement import RecordedAgreement
    from workbench.castings.gauge_studies import RecordedStudy
    from workbench.records.settings import Settings

FIGURES = (REPEATABILITY, REPRODUCIBILITY, GAUGE, PART)
OWN = "a difference between them holds that of the blocks each was given"


def gauge_study_table(found: RecordedStudy, settings: Settings) -> Table:
    """Give the spread of one gauge study that was made: each part with its interval and share."""
    assert found.study is not None
    caption = _study_caption(found, settings)
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


def _study_caption(found: RecordedStudy, settings: Settings) -> str:
    label = quantity_label(settings, found.quantity).lower()
    over = f" over {found.factor}s" if len(found.labels) > 1 else ""
    return f"Gauge study of {label}{over}"


def no_study_table(found: Sequence[RecordedStudy], settings: Settings) -> Table:
    """Say of which quantities no gauge study can be made, and why."""
    return Table(
        caption="Gauge studies that cannot be made",
        columns=("Study", "Why"),
        rows=tuple((_study_caption(of, settings), f"{of.why}.") for of in found),
    )


def study_note(found: RecordedStudy, settings: Settings) -> str:
    """Say how a gauge study was made, what it rests on, and what it cannot tell."""
    study = found.study
    assert study is not None
    named = ", ".join(label or "operators not named" for label in found.labels)
    of = f"{len(found.labels)} {found.factor}s ({named})" if len(found.labels) > 1 else named
    of += f", readings {'with' if found.factor == 'operator' else 'by'} {found.held} alone" * bool(
        found.held
    )
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
    words += f" Step of the display {spread_words(found.step, found.unit)}"
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
        name += " (gauge and operator changed together)" if pair.together else ""
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
                p_words(bias.p_value()).removeprefix("p ").removeprefix("= "),
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
            "Corrected readings; operators are compared with one gauge and gauges by one operator, "
            f"where the records allow it. Bias at {percent(settings.confidence)}. Between the "
            "limits of agreement lie 95% of the differences of two single readings. A correlation "
            "of the two would say nothing of agreement, and none is given."
            + shortened(len(rows), MOST_ROWS, "pair")
            if rows
            else "No place was read by two gauges or two operators."
        ),
    )


def spread_words(sd: float, unit: str) -> str:
    """Give a standard deviation, or a step, to two digits."""
    return f"{float(f'{sd:.2g}'):g} {unit}"
