"""The report of one block as plain values for JSON: full precision, what is not known is null."""

from __future__ import annotations

import math
from typing import Any

from workbench.castings.block_report import BlockReport
from workbench.castings.bore_reports import BoreReport
from workbench.castings.bores.boring import BoringAllowance, Overbore, SizeAllowance
from workbench.castings.fitness import BlockFitness, RuleOutcome
from workbench.castings.placing import FigurePlace
from workbench.inference.directions.offset_program import Offset
from workbench.inference.directions.vector import VectorEstimate
from workbench.inference.estimates import Estimate

Values = dict[str, Any]


def block_values(report: BlockReport) -> Values:
    """Give the report as dictionaries, lists, texts and numbers."""
    confidence = report.confidence
    return {
        "block": report.block,
        "family": report.family,
        "confidence": confidence,
        "figures": [_figure(one, confidence) for one in report.placed.figures],
        "unusual": [one.name for one in report.placed.unusual(confidence)],
        "unit": report.unit,
        "least_wall": _estimate(report.least),
        "bores": [_bore(one, confidence) for one in report.bores],
        "core_shift": None
        if report.shift is None
        else _vector(report.shift.as_measured, confidence)
        | {"pattern": report.shift.pattern(confidence)},
        "fitness": [_fitness(one) for one in report.fitness],
        "boring": {name: _boring(one) for name, one in report.boring.items()},
        "too_high": list(report.placed.too_high),
        "not_answered": dict(report.placed.not_answered) | dict(report.not_answered),
        "cautions": list(report.cautions),
    }


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _estimate(found: Estimate | None) -> Values | None:
    if found is None:
        return None
    return {name: _number(getattr(found, name)) for name in ("estimate", "low", "high")}


def _vector(found: VectorEstimate | None, confidence: float) -> Values:
    if found is None:
        return {}
    region = found.region(confidence)
    names = ("major", "minor", "direction")
    return {
        "x": found.x,
        "y": found.y,
        "size": found.size,
        "size_standard_error": found.size_standard_error,
        "direction": found.direction,
        "p_value": found.p_value(),
        "region": {name: getattr(region, name) for name in names},
    }


def _figure(found: FigurePlace, confidence: float) -> Values:
    ends = found.percentile_interval(confidence)
    return {
        "figure": found.name,
        "value": found.value,
        "unit": found.unit,
        "percentile": found.percentile,
        "low": ends.low,
        "high": ends.high,
        "other_blocks": found.case.family.n,
        "family_mean": found.case.family.mean,
        "family_sd": found.case.family.sd,
        "p_value": found.case.p_value,
        "adjusted_p": found.adjusted_p,
    }


def _bore(found: BoreReport, confidence: float) -> Values:
    read = found.least_read
    return {
        "bore": found.bore,
        "least_read": None
        if read is None
        else {
            "wall": read.wall,
            "where": read.where,
            "hunted": read.hunted,
            "at_most": read.at_most,
        },
        "least_wall": _estimate(found.least),
        "core_shift": _vector(found.shift, confidence) or None,
    }


def _fitness(found: BlockFitness) -> Values:
    return {
        "duty": found.duty,
        "label": found.label,
        "note": found.note,
        "outcome": found.outcome,
        "deciding": found.deciding,
        "rules": [_rule(one) for one in found.rules],
    }


def _rule(found: RuleOutcome) -> Values:
    figure, decided = found.figure, found.conformity
    return {
        "rule": found.rule,
        "unit": found.unit,
        "outcome": found.outcome,
        "value": None if figure is None else figure.value,
        "standard_uncertainty": None if figure is None else figure.standard_uncertainty,
        "where": "" if figure is None else figure.where,
        "lower_limit": None if decided is None else _number(decided.limits.lower),
        "upper_limit": None if decided is None else _number(decided.limits.upper),
        "margin": _number(found.margin),
        "risk": _number(found.risk),
        "reason": found.reason,
    }


def _boring(found: BoringAllowance) -> Values:
    return {
        "unit": found.unit,
        "limit_unit": found.limits.unit,
        "least_wall_kept": _number(found.limits.everywhere),
        "one_size": found.one_size,
        "central": found.central,
        "limiting": found.limiting,
        "offsets": {name: _offset(one) for name, one in found.offsets.items()},
        "bores": {
            name: {"central": _overbore(one.central), "best": _overbore(one.best)}
            for name, one in found.bores.items()
        },
        "if_sleeved": dict(found.if_sleeved),
        "sizes": [_size(one) for one in found.sizes],
        "bridges": dict(found.bridges),
        "mass_removed_kg": found.mass_removed,
        "not_answered": dict(found.not_answered),
    }


def _offset(found: Offset) -> Values:
    return {"x": found.x, "y": found.y, "size": found.size, "direction": found.direction}


def _overbore(found: Overbore) -> Values:
    return {"overbore": found.overbore, "offset": _offset(found.offset)}


def _size(found: SizeAllowance) -> Values:
    return {
        "oversize": found.oversize,
        "probability": found.probability,
        "outcome": found.outcome,
        "least_wall": _estimate(found.least_wall),
        "cuts_through": found.cuts_through,
        "limiting": found.limiting,
        "cleans_up": found.cleans_up,
    }
