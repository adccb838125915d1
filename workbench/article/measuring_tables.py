"""Tables of the measuring side: what was struck out, calibrations, budgets, gauge studies."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from workbench.article.names import quantity_label
from workbench.article.numbers import known, percent
from workbench.article.record_tables import MOST_ROWS, shortened
from workbench.article.tables import Table
from workbench.castings.reading_budget import Drawn, MeanBudget
from workbench.records.rounding import interval_text, quantity_text

if TYPE_CHECKING:
    from workbench.castings.calibration import Calibrations
    from workbench.claims.judgement import Judgement
    from workbench.inference.measuring.budget import Component
    from workbench.records.settings import Settings


PARTS_NAMED = 3  # in a cell
MOST_PARTS = 10  # rows of a budget


def calibrations_table(calibrations: Calibrations) -> Table:
    """List every calibration and correlation with its line, what it covers and what is against it.

    The uncertainty is that of a value corrected in the middle of what the line covers.
    """
    rows = []
    for found in calibrations.by_name.values():
        if found.line is None:
            rows.append((found.name, found.gauge, "not usable", "", "", "", found.why))
            continue
        line, unit = found.line, found.unit
        middle = found.middle if found.middle > 0 else 1.0
        rows.append(
            (
                found.name,
                found.gauge,
                line.method,
                f"{line.zero:+.4f} {unit} + {line.slope:.5f} x",
                _covered(line.low, line.high, unit),
                _uncertainty(float(line.shared_uncertainty(middle)), unit),
                "; ".join(finding.sentence for finding in found.findings) or "nothing",
            )
        )
    for correlation in calibrations.correlations.values():
        if correlation.line is None:
            rows.append(
                (correlation.name, correlation.gauge, "not usable", "", "", "", correlation.why)
            )
            continue
        line = correlation.line
        middle = (line.low + line.high) / 2
        rows.append(
            (
                correlation.name,
                correlation.gauge,
                line.method,
                f"{line.zero:+.4g} {correlation.shown} + {line.slope:.4g} x ({correlation.to})",
                _covered(line.low, line.high, correlation.shown),
                _uncertainty(float(line.shared_uncertainty(middle)), correlation.to),
                correlation.note,
            )
        )
    return Table(
        caption="Calibrations",
        columns=("Name", "Gauge", "How", "Shows", "Covers", "Uncertainty", "What is against it"),
        rows=tuple(rows[:MOST_ROWS]),
        numeric=(5,),
        note=(
            "What the gauge shows for a value x; the standard uncertainty is that of the line in "
            "its middle, shared by all readings corrected with it."
            if rows
            else "The study has none: every reading stands as its gauge showed it."
        )
        + shortened(len(rows), MOST_ROWS, "calibration"),
    )


def _covered(low: float, high: float, unit: str) -> str:
    return (
        f"above {quantity_text(0.0, unit=unit)}"
        if math.isinf(high)
        else interval_text(low, high, unit)
    )


def budget_table(measured: MeanBudget, confidence: float, drawn: Drawn | None = None) -> Table:
    """Lay out a budget: each component with its type, distribution, divisor, sensitivity, share."""
    budget = measured.budget
    shares = budget.shares() if budget.combined > 0 else {}
    parts = sorted(budget.components, key=lambda part: -abs(part.contribution))
    rows = [_component_row(part, shares.get(part.name, 0.0), measured.unit) for part in parts]
    if len(parts) > MOST_PARTS:
        rest = parts[MOST_PARTS - 1 :]
        rows[MOST_PARTS - 1 :] = [_rest_row(rest, shares, measured.unit)]
    u, nu = budget.combined, budget.degrees_of_freedom
    expanded = budget.expanded(confidence)
    note = (
        f"{quantity_text(measured.value, u, measured.unit, measured.finest)}, combined standard "
        f"uncertainty {_uncertainty(u, measured.unit)} with {_freedom(nu)} effective degrees of "
        f"freedom (Welch-Satterthwaite); expanded {_uncertainty(expanded, measured.unit)} at "
        f"{percent(confidence)} (factor {budget.coverage_factor(confidence):.2f}). Shared "
        "components do not fall with the number of readings."
    )
    if drawn is not None:
        note += drawn_words(drawn, measured)
    return Table(
        caption=f"Uncertainty budget: {measured.label}",
        columns=(
            "Component",
            "Type, distribution",
            "As stated",
            "Divisor",
            "Sensitivity",
            "Contribution",
            "Degrees of freedom",
            "Share of the variance",
        ),
        rows=tuple(rows),
        numeric=(2, 3, 4, 5, 6, 7),
        note=note,
    )


def _component_row(part: Component, share: float, unit: str) -> tuple[str, ...]:
    divisor = part.stated / part.standard_uncertainty if part.standard_uncertainty else 1.0
    return (
        f"{part.name} (shared)" if part.shared else part.name,
        f"{part.kind}, {part.distribution}",
        _uncertainty(part.stated, unit),
        f"{divisor:.3g}",
        f"{part.sensitivity:.3g}",
        _uncertainty(abs(part.contribution), unit),
        _freedom(part.degrees_of_freedom),
        f"{100 * share:.1f}%",
    )


def _rest_row(rest: Sequence[Component], shares: Mapping[str, float], unit: str) -> tuple[str, ...]:
    """Put the smallest components in one row."""
    together = math.sqrt(sum(part.contribution**2 for part in rest))
    share = sum(shares.get(part.name, 0.0) for part in rest)
    name = f"{len(rest)} smaller ones together"
    return (name, "", "", "", "", _uncertainty(together, unit), "", f"{100 * share:.1f}%")


def drawn_words(drawn: Drawn, measured: MeanBudget) -> str:
    """Say whether Monte Carlo gives the interval of the formula."""
    formula, simulated = (
        interval_text(
            found.low,
            found.high,
            measured.unit,
            uncertainty=measured.budget.combined,
            step=measured.finest,
        )
        for found in (drawn.formula, drawn.simulated)
    )
    said = f" By Monte Carlo {simulated}, by the formula {formula}"
    if drawn.agree:
        return f"{said}: they agree to the digits reported."
    if not drawn.settled:
        return f"{said}: they part by less than the draws can tell."
    return f"{said}: they part, so take that of Monte Carlo."


def _uncertainty(u: float, unit: str) -> str:
    """Give an uncertainty to two digits, written out."""
    return quantity_text(u, u, unit) if u > 0 else quantity_text(0.0, unit=unit)


def _freedom(nu: float) -> str:
    return "infinite" if math.isinf(nu) else f"{nu:.3g}" if nu < 10 else f"{nu:.0f}"


def refused_budgets_table(refused: Mapping[str, str], settings: Settings) -> Table:
    """Say of which quantities no budget can be made, and why."""
    return Table(
        caption="Uncertainty budgets that cannot be made",
        columns=("Quantity", "Why"),
        rows=tuple((quantity_label(settings, name), why) for name, why in refused.items()),
    )


def contrasts_table(judgement: Judgement) -> Table:
    """Give what measuring leaves in the difference of every claim, largest first."""
    rows = []
    for verdict in judgement.verdicts:
        if not verdict.has_numbers:
            continue
        parts = sorted(verdict.measuring, key=lambda part: -part[1])
        total = verdict.gauge_uncertainty if known(verdict.gauge_uncertainty) else 0.0
        share = (total / verdict.standard_error) ** 2 if verdict.standard_error > 0 else 0.0
        rows.append(
            (
                verdict.claim,
                _uncertainty(verdict.standard_error, verdict.unit),
                _uncertainty(total, verdict.unit),
                f"{100 * share:.1f}%",
                _largest(parts, verdict.unit),
            )
        )
    return Table(
        caption="What measuring leaves in the difference of each claim",
        columns=(
            "Claim",
            "Standard error",
            "Of that, shared error of measuring",
            "Share of the variance",
            "Made of",
        ),
        rows=tuple(rows[:MOST_ROWS]),
        numeric=(1, 2, 3),
        note=(
            "More readings do not lessen it: an error common to both families cancels, one of a "
            "single family does not." + shortened(len(rows), MOST_ROWS, "claim")
            if rows
            else "No claim has an estimate."
        ),
    )


def _largest(parts: Sequence[tuple[str, float]], unit: str) -> str:
    """Name the largest parts of what measuring leaves; say how many more there are."""
    if not parts:
        return "cancels, or nothing is stated"
    said = "; ".join(f"{name}: {_uncertainty(u, unit)}" for name, u in parts[:PARTS_NAMED])
    more = len(parts) - PARTS_NAMED
    return f"{said}; {more} smaller" if more > 0 else said
