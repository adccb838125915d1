"""The ledger judged: each claim on its own evidence, then all held together by Holm."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from workbench.castings.calibration import calibrations_of
from workbench.claims.analysis import Analysis, analyse
from workbench.claims.calibration_threats import calibration_threats
from workbench.claims.censored import censored_threats
from workbench.claims.checks import checks_beside
from workbench.claims.claim import Claim, FaultyClaim, Ledger
from workbench.claims.effects import effects
from workbench.claims.evidence import Evidence, gather
from workbench.claims.far_off_threat import with_far_off
from workbench.claims.feature_claims import feature_threats, judge_feature, verdict_fields
from workbench.claims.hardness_threats import hardness_threats
from workbench.claims.judgement import Judgement
from workbench.claims.planning import plan, slack
from workbench.claims.printed_families import rests_on_print
from workbench.claims.robustness import robustness_threats
from workbench.claims.rules import decide
from workbench.claims.sentences import next_step, remedy, sentence
from workbench.claims.shift_claims import Shifts
from workbench.claims.stated import counts, stated
from workbench.claims.threats import excluded, of_the_study, threats
from workbench.claims.together import held_together
from workbench.claims.verdict import Threat, Verdict
from workbench.errors import Refusal, StudyError
from workbench.records.columns import did_you_mean
from workbench.records.faults import FaultsError
from workbench.records.plain_text import plain_text
from workbench.records.settings import Settings

if TYPE_CHECKING:
    import pandas as pd

    from workbench.claims.figure_analysis import FigureAnalysis
    from workbench.records.intake import Records

Kept = TypeVar("Kept")


def judge(
    ledger: Ledger,
    records: Records,
    settings: Settings,
    *,
    seed: int,
    only: str | None = None,
    bench: Bench | None = None,
) -> Judgement:
    """Judge every claim of the ledger; give all verdicts, or the one of the claim `only`.

    Each claim draws its random arrangements from `seed` and its own id, so that a verdict does
    not depend on the other claims, nor on being asked for alone. A `bench` of the same study and
    seed keeps the analyses for who asks further.

    Raises
    ------
    FaultsError
        When the claims file holds no claim that could be judged or listed.
    StudyError
        When no claim has the id `only`.
    """
    if not ledger.entries:
        raise FaultsError(ledger.faults)
    if only is not None and only not in ledger.ids:
        raise StudyError(
            f"No claim has the id “{only[:80]}”{did_you_mean(only, ledger.ids)}; "
            f"the claims are: {', '.join(ledger.ids)}."
        )
    bench = bench or Bench(ledger, records, settings, seed=seed)
    verdicts = held_together(
        [bench.verdict(entry) for entry in ledger.entries], settings.confidence
    )
    return Judgement(
        study=settings.title,
        confidence=settings.confidence,
        seed=seed,
        verdicts=tuple(v for v in verdicts if only in (None, v.claim)),
        asked=ledger.ids,
    )


class Bench:
    """Judges claims one by one, and keeps each analysis for the claims that share it."""

    def __init__(self, ledger: Ledger, records: Records, settings: Settings, *, seed: int) -> None:
        """Set out the records, with the core shifts where a claim asks for them."""
        self.ledger = ledger
        records = replace(records, cells=plain_text(records.cells))
        self.given = records
        self.settings = settings
        self.seed = seed
        self.calibrations = calibrations_of(records, settings)
        self.shifts = Shifts(records, settings, self.calibrations)
        self.records = self.shifts.records(ledger.entries)
        self.evidence: dict[tuple[str, str, str, str], Evidence | Refusal] = {}
        self.analyses: dict[tuple[str, ...], Analysis | Refusal] = {}
        self.figures: dict[str, FigureAnalysis] = {}

    def verdict(self, entry: Claim | FaultyClaim) -> Verdict:
        """Give the verdict on one entry of the ledger."""
        if isinstance(entry, FaultyClaim):
            return self._faulty(entry)
        verdict = self._answered(entry)
        return with_far_off(entry, verdict, self.given.cells, self.settings, self._on(entry))

    def _on(self, claim: Claim) -> Callable[[pd.DataFrame], Verdict]:
        """Give what judges a claim again on other cells."""

        def judged(cells: pd.DataFrame) -> Verdict:
            alone = Ledger(entries=(claim,), faults=())
            given = replace(self.given, cells=cells)
            return Bench(alone, given, self.settings, seed=self.seed)._answered(claim)

        return judged

    def _answered(self, entry: Claim) -> Verdict:
        evidence = None
        try:
            self.shifts.require(entry)
            if rests_on_print(entry, self.records.cells, self.settings):
                return self._summarised(entry)
            evidence = self.evidence_of(entry)
            if self.settings.quantities[entry.quantity].kind == "feature":
                return self._seen(entry, evidence)
            if entry.figure != "mean":
                return self._figure(entry, evidence)
            return self._judged(entry, evidence, self.analysis_of(entry, evidence))
        except Refusal as refusal:
            return self._refused(entry, refusal, evidence)

    def _judged(self, claim: Claim, evidence: Evidence, analysis: Analysis) -> Verdict:
        confidence = self.settings.confidence
        difference = analysis.difference
        decision = decide(
            difference, direction=claim.direction, margin=claim.margin, confidence=confidence
        )
        seed = [self.seed, *claim.id.encode()]
        checks = checks_beside(analysis, claim, confidence, seed)
        found = (
            plan(evidence, analysis, claim, confidence)
            if decision.outcome == "unresolved"
            else slack(decision, claim.direction, claim.margin)
        )
        return Verdict(
            **stated(claim),
            **counts(claim, evidence),
            outcome=decision.outcome,
            confidence=confidence,
            sentence=sentence(claim, evidence, analysis, decision, self.settings),
            next_step=next_step(claim, evidence, analysis, found, self.settings),
            estimate=difference.estimate,
            low=decision.interval.low,
            high=decision.interval.high,
            inner_low=decision.inner.low if decision.inner else math.nan,
            inner_high=decision.inner.high if decision.inner else math.nan,
            p_value=decision.p_value,
            deciding_p=decision.deciding_p,
            degrees_of_freedom=analysis.degrees_of_freedom,
            standard_error=difference.standard_error,
            method=difference.method,
            analysis=analysis.choice.name,
            analysis_reason=analysis.choice.why,
            gauge_uncertainty=analysis.shared.uncertainty,
            measuring=analysis.shared.by_name(),
            finest=evidence.finest,
            components=tuple(
                (name, math.sqrt(value)) for name, value in analysis.components.items()
            ),
            warnings=self.shifts.told(
                claim,
                (
                    *threats(claim, evidence, analysis, checks, decision, self.settings),
                    *robustness_threats(claim, analysis, decision, self.settings),
                    *censored_threats(
                        claim, evidence, self.records.cells, decision, self.settings, seed
                    ),
                    *calibration_threats(claim, evidence, analysis, decision, self.settings, seed),
                    *hardness_threats(claim, evidence, self.records, self.settings),
                    *self._beside(claim, evidence),
                ),
                self.settings,
            ),
            checks=checks,
            effects=effects(analysis, confidence, less=claim.direction == "less"),
        )

    def _beside(self, claim: Claim, evidence: Evidence | None) -> Iterator[Threat]:
        """Say what the study as a whole holds beside any verdict: rows, ranges, print."""
        yield from of_the_study(claim, self.records, self.settings, evidence)
        if evidence is not None and self.settings.summaries:
            from workbench.claims.summary_threats import printed_beside

            yield from printed_beside(claim, self.settings)

    def _summarised(self, claim: Claim) -> Verdict:
        """Give the verdict on a claim of which a family is known from print alone."""
        from workbench.claims.summary_claims import judge_summaries, summary_fields
        from workbench.claims.summary_threats import summary_threats

        found = judge_summaries(claim, self.records.cells, self.settings, self.calibrations)
        return Verdict(
            **{**stated(claim), **summary_fields(claim, found, self.settings)},
            warnings=(
                *summary_threats(claim, found, self.settings),
                *of_the_study(claim, self.records, self.settings),
            ),
        )

    def _figure(self, claim: Claim, evidence: Evidence) -> Verdict:
        """Give the verdict on a spread, a thinnest place or a share below a limit."""
        from workbench.claims.figure_claims import figure_fields, judge_figure
        from workbench.claims.figure_threats import figure_threats

        seed = [self.seed, *claim.id.encode()]
        found = judge_figure(claim, self.figure_of(claim, evidence), self.settings)
        given = (claim, evidence, found.analysis, found.checks, found.decision, self.settings)
        return Verdict(
            **{
                **stated(claim),
                **counts(claim, evidence),
                **figure_fields(claim, evidence, found, self.settings),
            },
            warnings=self.shifts.told(
                claim,
                (
                    *figure_threats(*given),
                    *censored_threats(
                        claim, evidence, self.records.cells, found.decision, self.settings, seed
                    ),
                    *hardness_threats(claim, evidence, self.records, self.settings),
                    *self._beside(claim, evidence),
                ),
                self.settings,
            ),
        )

    def _seen(self, claim: Claim, evidence: Evidence) -> Verdict:
        """Give the verdict on a feature seen by eye: shares of blocks, compared exactly."""
        found = judge_feature(claim, evidence, self.settings)
        return Verdict(
            **stated(claim),
            **counts(claim, evidence),
            **verdict_fields(claim, found, self.settings),
            warnings=(
                *feature_threats(claim, found, self.settings),
                *excluded(evidence.left_out, self.settings),
                *self._beside(claim, evidence),
            ),
        )

    def _refused(self, claim: Claim, refusal: Refusal, evidence: Evidence | None) -> Verdict:
        """Give the verdict of a claim that cannot be answered: open, with the reason."""
        left_out = evidence.left_out if evidence else ()
        return Verdict(
            **stated(claim),
            **(counts(claim, evidence) if evidence else {}),
            outcome="unresolved",
            confidence=self.settings.confidence,
            sentence=f"The claim stays open: {refusal}",
            next_step=remedy(refusal.code),
            warnings=(
                Threat(code=refusal.code, text=str(refusal)),
                *excluded(left_out, self.settings),
                *self._beside(claim, evidence),
            ),
        )

    def _faulty(self, entry: FaultyClaim) -> Verdict:
        return Verdict(
            claim=entry.id,
            statement=entry.statement,
            outcome="unresolved",
            confidence=self.settings.confidence,
            sentence="The claim stays open: it is not stated as a claim must be.",
            next_step="Mend the claim; “workbench check” lists its faults.",
            warnings=tuple(
                Threat(code=fault.code, text=f"{fault.column}: {fault.sentence}")
                for fault in entry.faults
            ),
        )

    def evidence_of(self, claim: Claim) -> Evidence:
        """Give what was measured of a claim, or refuse it."""
        key = (claim.quantity, claim.candidate, claim.reference, claim.unit)
        if key not in self.evidence:
            try:
                self.evidence[key] = gather(
                    self.records.cells,
                    quantity=claim.quantity,
                    candidate=claim.candidate,
                    reference=claim.reference,
                    unit=_unit(claim, self.settings),
                    calibrations=self.calibrations,
                )
            except Refusal as refusal:
                self.evidence[key] = refusal
        return _kept(self.evidence[key])

    def analysis_of(self, claim: Claim, evidence: Evidence) -> Analysis:
        """Give the analysis of a claim on a mean, or refuse it."""
        pair = (claim.candidate, claim.reference)
        asked = f"{claim.analysis} {claim.id}" if claim.analysis else ""
        key = (claim.quantity, *pair, claim.unit, claim.scope, asked)
        if key not in self.analyses:
            try:
                self.analyses[key] = analyse(
                    evidence,
                    self.settings.gauges,
                    claim.scope,
                    asked=claim.analysis,
                    names=[self.settings.family_label(family) for family in pair],
                    seed=[self.seed, *claim.id.encode()],
                )
            except Refusal as refusal:
                self.analyses[key] = refusal
        return _kept(self.analyses[key])

    def figure_of(self, claim: Claim, evidence: Evidence) -> FigureAnalysis:
        """Give the analysis of a claim on another figure than the mean, or refuse it."""
        from workbench.claims.figure_claims import analyse_figure

        if claim.id not in self.figures:
            seed = [self.seed, *claim.id.encode()]
            self.figures[claim.id] = analyse_figure(
                claim, evidence, self.records.cells, self.settings, seed
            )
        return self.figures[claim.id]


def _unit(claim: Claim, settings: Settings) -> str:
    """Give the unit readings are gathered in: that of the claim, or the grades of a feature."""
    known = settings.quantities[claim.quantity]
    return known.unit if known.kind == "feature" else claim.unit


def _kept(answer: Kept | Refusal) -> Kept:
    if isinstance(answer, Refusal):
        raise answer
    return answer
