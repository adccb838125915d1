"""The verdict on a claim: an outcome with its numbers, its threats and what would change it."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any

from workbench.claims.claim import Figure, Of, Scope
from workbench.claims.rules import Direction, Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class Threat:
    """Something in the records that could make the verdict wrong: a code and a sentence."""

    code: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """Another analysis of the same claim, to stand beside the default one.

    Its numbers are NaN and its outcome None where it could not be made; `note` says why, or what
    it leaves out. `p_value` is the one a reader is told (`rules.Decision`). `binding` tells whether
    a different outcome is a disagreement.
    """

    name: str
    estimate: float = math.nan
    low: float = math.nan
    high: float = math.nan
    p_value: float = math.nan
    outcome: Outcome | None = None
    note: str = ""
    binding: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """The size of a difference, candidate against reference, in other terms than its unit.

    `unit` is `%`, `share` (0 to 1) or empty. The numbers are NaN where `note` says why.
    """

    name: str
    unit: str
    estimate: float = math.nan
    low: float = math.nan
    high: float = math.nan
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What the evidence says of one claim.

    Numbers are in `unit` and NaN where there are none. `low` and `high` are the ends of the
    interval at `confidence`; `inner_low` and `inner_high`, for `same` only, those of the interval
    at 2 * confidence - 1 that decides it. `adjusted` are the deciding p adjusted over the
    ledger by name of the method, `adjusted_p` that of Holm; `stands_after_adjustment` is None for
    an unresolved claim. `gauge_uncertainty` is what measuring alone leaves in the difference,
    `measuring` its parts by name, all standard uncertainties. `finest` is the finest digit its
    numbers are printed to. `analysis` names the analysis that decided, `analysis_reason` says why
    it was that one.
    `components` are the standard deviations by level. For a claim that could not be read, what
    it states is empty.
    """

    claim: str
    statement: str
    outcome: Outcome
    confidence: float
    sentence: str
    next_step: str
    heard_from: str = ""
    quantity: str = ""
    figure: Figure = "mean"
    candidate: str = ""
    reference: str = ""
    direction: Direction | None = None
    margin: float = 0.0
    scope: Scope = "family"
    threshold: float | None = None
    of: Of = "places"
    unit: str = ""
    estimate: float = math.nan
    low: float = math.nan
    high: float = math.nan
    inner_low: float = math.nan
    inner_high: float = math.nan
    p_value: float = math.nan
    deciding_p: float = math.nan
    adjusted_p: float = math.nan
    adjusted: tuple[tuple[str, float], ...] = ()
    degrees_of_freedom: float = math.nan
    standard_error: float = math.nan
    method: str = ""
    analysis: str = ""
    analysis_reason: str = ""
    candidate_blocks: int = 0
    reference_blocks: int = 0
    candidate_bores: int = 0
    reference_bores: int = 0
    candidate_readings: int = 0
    reference_readings: int = 0
    stands_after_adjustment: bool | None = None
    gauge_uncertainty: float = math.nan
    measuring: tuple[tuple[str, float], ...] = ()
    finest: float = math.nan
    components: tuple[tuple[str, float], ...] = ()
    warnings: tuple[Threat, ...] = ()
    checks: tuple[Check, ...] = ()
    effects: tuple[Effect, ...] = ()

    @property
    def told_p(self) -> float:
        """The p-value of the sentence and of every table: see `rules.Decision`."""
        return self.deciding_p if self.outcome == "contradicted" else self.p_value

    @property
    def has_numbers(self) -> bool:
        """Tell whether there is an estimate with an interval."""
        return math.isfinite(self.estimate)

    def to_json(self) -> dict[str, Any]:
        """Give the verdict as JSON takes it: full precision, null for NaN and infinities."""
        given = {field.name: getattr(self, field.name) for field in fields(self)}
        given["warnings"] = [{"code": threat.code, "text": threat.text} for threat in self.warnings]
        for name in ("checks", "effects"):
            given[name] = [
                {field.name: _plain(getattr(one, field.name)) for field in fields(one)}
                for one in given[name]
            ]
        for parts in ("measuring", "components", "adjusted"):
            given[parts] = {name: _plain(value) for name, value in given[parts]}
        return {name: _plain(value) for name, value in given.items()}


def _plain(value: Any) -> Any:
    """Give None for a float JSON cannot hold."""
    return None if isinstance(value, float) and not math.isfinite(value) else value
