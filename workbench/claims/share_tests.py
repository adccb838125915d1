"""The tests of two shares of blocks: the one that decides a claim, and those beside it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from workbench.claims.choosing import OF_SHARES, does_not_fit
from workbench.claims.claim import Analyses, Claim
from workbench.claims.rules import decide, outcome
from workbench.claims.verdict import Check
from workbench.inference.results import Interval
from workbench.inference.shares.count import Count

MOST_EXACT = 160  # blocks in all: beyond that the exact interval takes seconds and changes nothing
METHODS: dict[Analyses, str] = {
    "exact_shares": "exact unconditional test of two shares",
    "score_test": "score test of two shares",
    "fisher": "Fisher's exact test of two shares",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareAnswer:
    """Candidate's share of blocks minus the reference's, ready to be held against a margin.

    `test` decides. Fisher's answers whether there is any difference and nothing else, so its
    interval is the exact unconditional one, 0 being in it unless Fisher's test refuses it as well:
    both must agree.
    """

    candidate: Count
    reference: Count
    test: Analyses

    @property
    def estimate(self) -> float:
        """The observed difference, from -1 to 1."""
        return self.candidate.share - self.reference.share

    @property
    def standard_error(self) -> float:
        """About how well the difference is known, for its digits (Agresti & Caffo 2000)."""
        parts = ((count.yes + 1) / (count.of + 2) for count in (self.candidate, self.reference))
        sizes = (self.candidate.of + 2, self.reference.of + 2)
        return math.sqrt(sum(p * (1 - p) / n for p, n in zip(parts, sizes, strict=True)))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the differences the test does not reject."""
        from workbench.inference.shares.difference import share_difference
        from workbench.inference.shares.fisher import fisher
        from workbench.inference.shares.unconditional import exact_share_interval

        if self.test == "score_test":
            return share_difference(self.candidate, self.reference).interval(confidence)
        found = exact_share_interval(self.candidate, self.reference, confidence)
        if self.test != "fisher":
            return found
        tail, seen = (1 - confidence) / 2, fisher(self.candidate, self.reference)
        return Interval(
            low=found.low if seen.p_above < tail else min(found.low, 0.0),
            high=found.high if seen.p_below < tail else max(found.high, 0.0),
            confidence=confidence,
        )

    def p_value(self, margin: float = 0.0) -> float:
        """Give twice the smaller one-sided p: what the interval, tail by tail, agrees with."""
        return min(1.0, 2 * min(self.p_above(margin), self.p_below(margin)))

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        return self._tails(margin)[0]

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        return self._tails(margin)[1]

    def _tails(self, margin: float) -> tuple[float, float]:
        from workbench.inference.shares.difference import share_difference
        from workbench.inference.shares.fisher import fisher
        from workbench.inference.shares.unconditional import barnard

        if self.test == "score_test":
            score = share_difference(self.candidate, self.reference)
            return score.p_above(margin), score.p_below(margin)
        found = barnard(self.candidate, self.reference, margin)
        if self.test != "fisher" or margin != 0:
            return found.p_above, found.p_below
        seen = fisher(self.candidate, self.reference)
        return max(found.p_above, seen.p_above), max(found.p_below, seen.p_below)


def share_answer(candidate: Count, reference: Count, claim: Claim) -> ShareAnswer:
    """Choose the test of a claim: the one it names, else the exact one while it can be had.

    Raises
    ------
    Refusal
        `analysis_does_not_fit`.
    """
    default = _default(candidate, reference)
    test = claim.analysis or default
    if test not in OF_SHARES:
        raise does_not_fit(test, f"a claim on a feature may ask for {', '.join(OF_SHARES)}")
    if test != "score_test" and default == "score_test":
        raise does_not_fit(test, f"beyond {MOST_EXACT} blocks in all its interval takes too long")
    if test == "fisher" and (claim.margin != 0 or claim.direction == "same"):
        raise does_not_fit(test, "it tells a difference from none, and knows no margin")
    return ShareAnswer(candidate=candidate, reference=reference, test=test)


def asked_by_name(answer: ShareAnswer, claim: Claim) -> dict[str, Any]:
    """Give the fields of the verdict that name the test and say why it was taken."""
    default = _default(answer.candidate, answer.reference)
    why = (
        "It is exact whatever the shares, and answers any margin."
        if default == "exact_shares"
        else f"With more than {MOST_EXACT} blocks in all it is as good as exact."
    )
    if claim.analysis is not None and claim.analysis != default:
        why = (
            f"The claim asks for this test by name. Left to itself it would be {default}: "
            f"{why[0].lower()}{why[1:]}"
        )
    return {"analysis": answer.test, "analysis_reason": why}


def share_checks(answer: ShareAnswer, claim: Claim, confidence: float) -> tuple[Check, ...]:
    """Judge the claim by the other tests of two shares."""
    return tuple(_checks(answer, claim, confidence))


def _checks(answer: ShareAnswer, claim: Claim, confidence: float) -> Iterator[Check]:
    if answer.test != "score_test":
        yield _score(answer, claim, confidence)
    yield _newcombe(answer, claim, confidence)
    if claim.margin == 0 and claim.direction != "same":
        if answer.test != "fisher":
            yield _fisher(answer, claim, confidence)
        if answer.candidate.of + answer.reference.of <= MOST_EXACT:
            yield _boschloo(answer, claim, confidence)


def _default(candidate: Count, reference: Count) -> Analyses:
    return "exact_shares" if candidate.of + reference.of <= MOST_EXACT else "score_test"


def _score(answer: ShareAnswer, claim: Claim, confidence: float) -> Check:
    """Judge the claim by the score test, which is not exact and does not take the worst case."""
    other = replace(answer, test="score_test")
    found = decide(other, direction=claim.direction, margin=claim.margin, confidence=confidence)
    return Check(
        name="score test (Farrington and Manning)",
        estimate=other.estimate,
        low=found.interval.low,
        high=found.interval.high,
        p_value=found.p_value,
        outcome=found.outcome,
        note="approximate; with few blocks it decides a little too often",
        binding=False,
    )


def _newcombe(answer: ShareAnswer, claim: Claim, confidence: float) -> Check:
    """Judge the claim by Newcombe's interval, which has no p."""
    from workbench.inference.shares.difference import share_difference_interval

    found = share_difference_interval(answer.candidate, answer.reference, confidence)
    inner = None
    if claim.direction == "same":
        inner = share_difference_interval(answer.candidate, answer.reference, 2 * confidence - 1)
    return Check(
        name="Newcombe's interval",
        estimate=found.estimate,
        low=found.low,
        high=found.high,
        outcome=outcome(claim.direction, claim.margin, found, inner),
        note="from the intervals of both shares; approximate",
        binding=False,
    )


def _fisher(answer: ShareAnswer, claim: Claim, confidence: float) -> Check:
    """Judge the claim by Fisher's exact test, for which the total is as it is."""
    from workbench.inference.shares.fisher import fisher

    found = fisher(answer.candidate, answer.reference)
    ends = found.interval(confidence)
    told = [
        f"{number:.2f}" if math.isfinite(number) else "without end"
        for number in (found.odds_ratio, ends.low, ends.high)
    ]
    return _by_tails(
        "Fisher's exact test",
        answer,
        claim,
        confidence,
        (found.p_above, found.p_below),
        f"odds ratio {told[0]} ({told[1]} to {told[2]}); no interval of the difference",
    )


def _boschloo(answer: ShareAnswer, claim: Claim, confidence: float) -> Check:
    """Judge the claim by Boschloo's test: Fisher's without taking the total for fixed."""
    from workbench.inference.shares.unconditional import boschloo

    found = boschloo(answer.candidate, answer.reference)
    tails = found.p_above, found.p_below
    note = "no interval of the difference"
    return _by_tails("Boschloo's exact test", answer, claim, confidence, tails, note)


def _by_tails(
    name: str,
    answer: ShareAnswer,
    claim: Claim,
    confidence: float,
    tails: tuple[float, float],
    note: str,
) -> Check:
    """Judge a claim of any difference, or of one way, by the one-sided p of a test without more."""
    above, below = (p < (1 - confidence) / 2 for p in tails)
    signs = Interval(low=1.0 if above else -1.0, high=-1.0 if below else 1.0, confidence=confidence)
    return Check(
        name=name,
        estimate=answer.estimate,
        p_value=min(1.0, 2 * min(tails)),
        outcome=outcome(claim.direction, 0.0, signs),
        note=note,
        binding=False,
    )
