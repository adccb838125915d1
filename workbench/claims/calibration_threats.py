"""What calibrations, allowances, or their absence, could make a verdict wrong."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
import pandas as pd

from workbench.castings.allowances import MASS
from workbench.claims.analysis import Analysis
from workbench.claims.claim import Claim
from workbench.claims.evidence import SEPARATOR, Evidence, places_text
from workbench.claims.measured import Measured
from workbench.claims.monte_carlo import compared, drawn_difference, poorly_known
from workbench.claims.planning import slack
from workbench.claims.rules import Decision
from workbench.claims.verdict import Threat
from workbench.inference.grouping import distinct
from workbench.records.notice import quoted
from workbench.records.rounding import interval_text, quantity_text
from workbench.records.settings import Settings

DOMINATES = 0.5  # share of the variance of a difference
# What is found of a calibration is said of every verdict on readings under it, but for these two,
# which only say what its uncertainty was made from.
SAID_IN_CHECK = ("calibration_not_repeated", "reference_taken_as_exact")


def calibration_threats(
    claim: Claim,
    evidence: Evidence,
    analysis: Analysis,
    decision: Decision,
    settings: Settings,
    seed: Iterable[int],
) -> Iterator[Threat]:
    """List the threats to a verdict that lie in how its readings were calibrated."""
    yield from calibrated(claim, evidence, analysis, decision, settings)
    yield from _drawn(claim, analysis, settings, seed)


def calibrated(
    claim: Claim, evidence: Evidence, analysis: Measured, decision: Decision, settings: Settings
) -> Iterator[Threat]:
    """List what calibrations threaten of a verdict on any figure of the families."""
    yield from _uncorrected(evidence, settings)
    yield from _unusable(evidence)
    yield from _parts(claim, evidence)
    yield from _findings(evidence)
    yield from _converted(evidence)
    yield from _extrapolated(evidence)
    yield from _apart(claim, evidence, analysis, decision)
    yield from _dominating(claim, analysis)


def _uncorrected(evidence: Evidence, settings: Settings) -> Iterator[Threat]:
    """Say which readings stand as their gauge showed them."""
    cells = evidence.cells
    shown = (cells["corrected_by"] == "") & (cells["gauge"] != "")
    if not shown.any():
        return
    n, of = int(cells["n"][shown].sum()), int(cells["n"].sum())
    gauges = sorted(cells["gauge"][shown].unique())
    stated = [
        f"{quantity_text(gauge.uncertainty, unit=gauge.unit or '')} for {name}"
        for name in gauges
        if (gauge := settings.gauges.get(name)) and gauge.uncertainty is not None
    ]
    with_what = (
        f"The uncertainty the study states ({', '.join(stated)}) stands for a steady error alone; "
        if stated
        else ""
    )
    yield Threat(
        code="uncorrected_readings",
        text=f"{n} of {of} readings were made without a usable calibration and stand as shown "
        f"({', '.join(gauges)}). {with_what}"
        f"{'one' if stated else 'One'} that grows with the reading, as from a wrong speed of sound "
        "or a wrong scale, is not in the interval.",
    )


def _unusable(evidence: Evidence) -> Iterator[Threat]:
    """Say why a calibration that readings name did not correct them."""
    cells = evidence.cells
    unused = (cells["calibration"] != "") & (cells["corrected_by"] == "")
    if not unused.any():
        return
    named = cells[unused]
    why: dict[str, list[str]] = {}
    for name, gauge in distinct(named, ("calibration", "gauge")):
        reason = evidence.calibrations.why_not(name, gauge, evidence.unit).rstrip(".")
        why.setdefault(reason, []).append(name)
    reasons = "; ".join(f"{quoted(names)}: {reason}" for reason, names in why.items())
    yield Threat(
        code="calibration_unusable",
        text="Under a calibration that cannot correct them were made, and stand as shown, "
        f"{int(named['n'].sum())} of {int(cells['n'].sum())} readings ({reasons}).",
    )


def _parts(claim: Claim, evidence: Evidence) -> Iterator[Threat]:
    """Say which blocks were weighed without parts whose mass nobody states."""
    unstated = evidence.calibrations.allowances.unstated
    if claim.quantity != MASS or not unstated:
        return
    blocks = {name.rpartition(SEPARATOR)[2] for name in evidence.cells["block"].unique()}
    lacking = {block: words for block, words in unstated.items() if block in blocks}
    if lacking:
        weighed, low = "blocks were", "their masses are"
        if len(lacking) == 1:
            weighed, low = "block was", "its mass is"
        said = tuple(f"{block}: {' and '.join(words)}" for block, words in lacking.items())
        yield Threat(
            code="part_not_stated",
            text=f"{len(lacking)} {weighed} weighed without parts whose mass the study does "
            f"not state ({places_text(said)}), and {low} too low.",
        )


def _findings(evidence: Evidence) -> Iterator[Threat]:
    """Repeat what speaks against the calibrations of these readings."""
    said: dict[str, dict[str, list[str]]] = {}
    used = set(evidence.cells["corrected_by"].unique()) & set(evidence.calibrations.by_name)
    for name in sorted(used):
        for finding in evidence.calibrations.by_name[name].findings:
            if finding.code not in SAID_IN_CHECK:
                said.setdefault(finding.code, {}).setdefault(finding.sentence, []).append(name)
    for code, names in said.items():
        parts = "; ".join(f"{quoted(of)} {sentence}" for sentence, of in names.items())
        yield Threat(code=code, text=f"Of the calibrations of these readings: {parts}.")


def _converted(evidence: Evidence) -> Iterator[Threat]:
    """Say which readings were turned from another hardness scale, and what that rests on."""
    by = evidence.cells["corrected_by"]
    for name in sorted(set(by.unique()) & set(evidence.calibrations.correlations)):
        known = evidence.calibrations.correlations[name]
        assert known.line is not None
        low, high = (quantity_text(end, unit=known.to) for end in known.spanned)
        yield Threat(
            code="converted_readings",
            text=f"{int(evidence.cells.loc[by == name, 'n'].sum())} of "
            f"{int(evidence.cells['n'].sum())} readings were made in {known.shown} and turned into "
            f"{known.to} by the study's own correlation {quoted([name])} ({known.line.readings} "
            f"pairs, {low} to {high}; {known.note}). It holds for iron like that of its pairs; a "
            "family of other iron lies off it by what nothing here shows.",
        )


def _extrapolated(evidence: Evidence) -> Iterator[Threat]:
    cells = evidence.cells
    if cells["extrapolated"].any():
        beyond = cells[cells["extrapolated"]]
        names = sorted(beyond["corrected_by"].unique())
        yield Threat(
            code="extrapolated",
            text=f"{int(beyond['n'].sum())} of {int(cells['n'].sum())} readings are of places read "
            f"outside what the pieces of their calibrations cover ({quoted(names)}); there the "
            "line is a guess.",
        )


def _apart(
    claim: Claim, evidence: Evidence, analysis: Measured, decision: Decision
) -> Iterator[Threat]:
    """Warn where no calibration was used on both families, with the bias that would matter."""
    ours, others = (
        _calibrations(evidence.of(family)) for family in (claim.candidate, claim.reference)
    )
    if not ours or not others or not ours.isdisjoint(others):
        return
    text = (
        "The two families were read under different calibrations, whose errors do not cancel: they "
        f"put {_error_text(analysis, claim)} (standard uncertainty) "
        "on the difference"
    )
    if decision.outcome != "unresolved":
        bias = slack(decision, claim.direction, claim.margin)
        size = quantity_text(bias, analysis.difference.standard_error, claim.unit)
        text += f"; a further bias of {size} between them would overturn the verdict"
    yield Threat(code="calibration_each", text=f"{text}.")


def _error_text(analysis: Measured, claim: Claim) -> str:
    u = analysis.shared.uncertainty
    return quantity_text(u, u, claim.unit)


def _calibrations(cells: pd.DataFrame) -> set[str]:
    return set(cells["corrected_by"].unique()) - {""}


def _dominating(claim: Claim, analysis: Measured) -> Iterator[Threat]:
    """Warn where the error of calibrations is more than that of blocks and readings."""
    shared, total = analysis.shared, analysis.difference.standard_error
    share = (shared.uncertainty / total) ** 2
    if shared.parts and share > DOMINATES and shared.budget is not None:
        name, largest = max(shared.budget.shares().items(), key=lambda part: part[1])
        yield Threat(
            code="calibration_dominates",
            text=f"{100 * share:.0f}% of the variance of the difference is error of measuring "
            f"that more readings do not lessen (largest: {name}, {100 * largest:.0f}% of it, in "
            f"all {_error_text(analysis, claim)}).",
        )


def _drawn(
    claim: Claim, analysis: Analysis, settings: Settings, seed: Iterable[int]
) -> Iterator[Threat]:
    """Warn where Monte Carlo gives another interval than the formula."""
    if not poorly_known(analysis.shared.parts):
        return
    formula = analysis.difference.interval(settings.confidence)
    drawn = drawn_difference(
        analysis.readings_only, analysis.shared, np.random.default_rng([*seed])
    )
    error = analysis.difference.standard_error
    found = compared(drawn, formula, error)
    if found.settled and not found.agree:
        simulated = drawn.interval(settings.confidence)
        yield Threat(
            code="monte_carlo_parts",
            text="The slope of a calibration is known so poorly that the interval by formula "
            f"({interval_text(formula.low, formula.high, claim.unit, uncertainty=error)}) parts "
            "from that by Monte Carlo "
            f"({interval_text(simulated.low, simulated.high, claim.unit, uncertainty=error)}).",
        )
