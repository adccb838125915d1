"""Other analyses of the same claim, beside the one that decides.

The rival nested model, and analyses of one number a block, its mean on a common footing of
stations, depths and gauges: Welch's, the blocks dealt anew, ranks, and the blocks drawn anew. For
the blocks measured, the places paired.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from workbench.claims.analysis import Analysis
from workbench.claims.choosing import compare_spreads
from workbench.claims.claim import Analyses, Claim
from workbench.claims.family_difference import family_difference
from workbench.claims.footing import gauge_of_blocks
from workbench.claims.measured_difference import paired_by_place
from workbench.claims.rules import Answer, decide
from workbench.claims.verdict import Check
from workbench.errors import Refusal
from workbench.inference.resampling.permutation import permute_blocks
from workbench.inference.results import Difference

COMMON = "nested, common spreads"
OWN = "nested, own spreads"
WELCH = "Welch on block means"
PERMUTATION = "permutation of blocks"
RANKS = "ranks of block means (Mann-Whitney)"
BOOTSTRAP = "blocks drawn anew (bootstrap)"
PAIRED = "paired by place"
UNCOUNTED = 0.25  # of the standard error: counted, it would add 3 % to it
ALIKE_FROM = 0.05  # p of equal spread: below it, an analysis that needs it binds nobody
DRAWN_FROM = 5  # blocks of each family, for drawing them anew


def checks_beside(
    analysis: Analysis, claim: Claim, confidence: float, seed: Sequence[int]
) -> tuple[Check, ...]:
    """Judge the claim by the other analyses; one that cannot be made says why."""
    if claim.scope == "block":
        note = "not made: it asks about blocks not yet measured, this claim only of those that were"
        return (
            *_paired(analysis, claim, confidence),
            *(Check(name=name, note=note) for name in (WELCH, PERMUTATION)),
        )
    spreads = compare_spreads(*_blocks(analysis))
    alike = spreads is None or spreads.p_value >= ALIKE_FROM
    found = list(_rivals(analysis, claim, confidence, alike))
    decided = analysis.choice.name
    if decided != "permutation":
        found.append(_permutation(analysis, claim, confidence, seed))
    if decided != "ranks":
        found.append(_ranks(analysis, claim, confidence, alike))
    if decided != "bootstrap":
        found += _drawn(analysis, claim, confidence, seed)
    return tuple(found)


def disagreeing(checks: Sequence[Check], outcome: str) -> tuple[Check, ...]:
    """Give the checks that come to another outcome."""
    return tuple(
        check
        for check in checks
        if check.binding and check.outcome is not None and check.outcome != outcome
    )


def _rivals(analysis: Analysis, claim: Claim, confidence: float, alike: bool) -> tuple[Check, ...]:
    decided = "common_spreads" if analysis.choice.name == "single_case" else analysis.choice.name
    names: tuple[tuple[Analyses, str], ...] = (
        ("common_spreads", COMMON),
        ("own_spreads", OWN),
        ("welch", WELCH),
    )
    found = []
    for name, label in names:
        if name == decided:
            continue

        def made(name: Analyses = name) -> Difference:
            means = {family: analysis.means_of(family) for family in analysis.spreads}
            return family_difference(analysis.evidence, analysis.factors, name, means).difference

        check = _counted(label, made, analysis, claim, confidence)
        found.append(replace(check, binding=alike) if name == "common_spreads" else check)
    return tuple(found)


def _paired(analysis: Analysis, claim: Claim, confidence: float) -> tuple[Check, ...]:
    if analysis.choice.name == "paired_places":
        return ()
    check = _counted(
        PAIRED, lambda: paired_by_place(analysis.evidence), analysis, claim, confidence
    )
    note = "the unevenness of the iron from place to place counts as chance"
    return (replace(check, note=check.note or note, binding=False),)


def _counted(
    name: str,
    made: Callable[[], Difference],
    analysis: Analysis,
    claim: Claim,
    confidence: float,
) -> Check:
    """Judge by a difference, the shared error of measuring counted in."""
    try:
        difference = made()
    except Refusal as refusal:
        if refusal.code in ("one_block", "too_few_values"):
            return Check(name=name, note="not made: each family needs two blocks that differ")
        return Check(name=name, note=f"not made: {refusal}")
    shared = analysis.shared
    widened = difference.widened(shared.uncertainty, shared.degrees_of_freedom)
    return _judged(name, widened, claim, confidence)


def _permutation(analysis: Analysis, claim: Claim, confidence: float, seed: Sequence[int]) -> Check:
    gauges = gauge_of_blocks(analysis.evidence)
    dealt = permute_blocks(*_blocks(analysis), strata=gauges, seed=seed)
    note = (
        f"all {dealt.resamples} arrangements"
        if dealt.exact
        else f"{dealt.resamples} random arrangements"
    )
    if gauges is not None:
        note += ", dealt within the gauge of each block"
    check = _judged(PERMUTATION, dealt, claim, confidence)
    return _uncounted(check, analysis, note, too_few=dealt.smallest_p >= 1 - confidence)


def _ranks(analysis: Analysis, claim: Claim, confidence: float, alike: bool) -> Check:
    from workbench.inference.ranks.mann_whitney import mann_whitney

    found = mann_whitney(*_blocks(analysis))
    check = _judged(RANKS, found, claim, confidence)
    note = "shift of the middle; exact" if found.exact else "shift of the middle; normal limit"
    too_few = math.isinf(check.low) and math.isinf(check.high)
    check = _uncounted(check, analysis, note, too_few=too_few)
    return replace(check, binding=check.binding and alike)


def _drawn(
    analysis: Analysis, claim: Claim, confidence: float, seed: Sequence[int]
) -> tuple[Check, ...]:
    ours, others = _blocks(analysis)
    if min(ours.size, others.size) < DRAWN_FROM:
        return ()
    from workbench.inference.resampling.comparison import compare_means

    start = int(np.random.SeedSequence(list(seed)).generate_state(1)[0])
    try:
        drawn = compare_means(ours, others, seed=start)
    except Refusal as refusal:
        return (Check(name=BOOTSTRAP, note=f"not made: {refusal}"),)
    check = _judged(BOOTSTRAP, drawn, claim, confidence)
    check = _uncounted(check, analysis, drawn.warning or "studentised", too_few=False)
    return (replace(check, binding=check.binding and drawn.warning is None),)


def _uncounted(check: Check, analysis: Analysis, note: str, *, too_few: bool) -> Check:
    """Say of a check what it leaves out: the shared error of measuring, or any answer at all."""
    notes, outcome = [note], check.outcome
    if too_few:
        outcome = None
        notes.append("too few blocks for it to decide anything")
    shared = analysis.shared.uncertainty
    if shared > 0:
        notes.append("the shared error of measuring is not counted")
    return replace(
        check,
        outcome=outcome,
        note="; ".join(notes),
        binding=shared <= UNCOUNTED * analysis.readings_only.standard_error,
    )


def _judged(name: str, answer: Answer, claim: Claim, confidence: float) -> Check:
    decision = decide(answer, direction=claim.direction, margin=claim.margin, confidence=confidence)
    return Check(
        name=name,
        estimate=answer.estimate,
        low=decision.interval.low,
        high=decision.interval.high,
        p_value=decision.told_p,
        outcome=decision.outcome,
    )


def _blocks(analysis: Analysis) -> tuple[np.ndarray, np.ndarray]:
    """Give the block means, candidate first."""
    ours, others = (
        analysis.means_of(family)
        for family in (analysis.evidence.candidate, analysis.evidence.reference)
    )
    return ours, others
