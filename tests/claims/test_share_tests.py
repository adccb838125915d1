"""The tests of two shares that a claim on a feature may ask for, and those beside it."""

from __future__ import annotations

import pytest
from scipy.stats import boschloo_exact, fisher_exact
from statsmodels.stats.proportion import confint_proportions_2indep

from workbench.claims.claim import Claim
from workbench.claims.rules import decide
from workbench.claims.share_tests import asked_by_name, share_answer, share_checks
from workbench.errors import Refusal
from workbench.inference.shares.count import Count

PAIRS = [((7, 15), (2, 16)), ((9, 12), (3, 14)), ((5, 10), (5, 11)), ((1, 9), (8, 10))]


def claim(**fields: object) -> Claim:
    stated = {
        "id": "c", "statement": "s", "quantity": "web", "candidate": "f", "reference": "g",
        "direction": "greater", "unit": "share", **fields,
    }  # fmt: skip
    return Claim(**stated)  # type: ignore[arg-type]


def counts(pair: tuple[tuple[int, int], tuple[int, int]]) -> tuple[Count, Count]:
    ours, others = (Count(yes=yes, of=of) for yes, of in pair)
    return ours, others


def rows(pair: tuple[tuple[int, int], tuple[int, int]]) -> list[list[int]]:
    return [[yes, of - yes] for yes, of in pair]


@pytest.mark.parametrize("pair", PAIRS)
def test_fisher_and_boschloo_are_those_of_scipy(pair) -> None:
    answer = share_answer(*counts(pair), claim())
    checks = {check.name: check for check in share_checks(answer, claim(), 0.95)}
    sides = [fisher_exact(rows(pair), alternative=side).pvalue for side in ("greater", "less")]
    found = checks["Fisher's exact test"]
    assert found.p_value == pytest.approx(min(1, 2 * min(sides)))
    assert (found.outcome == "supported") == (sides[0] < 0.025)
    assert (found.outcome == "contradicted") == (sides[1] < 0.025)
    side = "greater" if sides[0] < sides[1] else "less"
    # scipy's table has the groups in its columns
    table = [list(column) for column in zip(*rows(pair), strict=True)]
    expected = boschloo_exact(table, alternative=side).pvalue
    assert checks["Boschloo's exact test"].p_value == pytest.approx(2 * expected, rel=0.01)


@pytest.mark.parametrize("pair", PAIRS)
def test_newcombe_is_that_of_statsmodels(pair) -> None:
    answer = share_answer(*counts(pair), claim())
    checks = {check.name: check for check in share_checks(answer, claim(), 0.95)}
    (ours, many), (others, more) = pair
    low, high = confint_proportions_2indep(ours, many, others, more, method="newcomb")
    found = checks["Newcombe's interval"]
    assert (found.low, found.high) == pytest.approx((low, high))
    assert (found.outcome == "supported") == (low > 0)


@pytest.mark.parametrize("pair", PAIRS)
def test_fisher_asked_for_needs_both_tests_and_its_p_agrees_with_its_interval(pair) -> None:
    asked = claim(analysis="fisher", direction="different")
    answer = share_answer(*counts(pair), asked)
    exact = share_answer(*counts(pair), claim(direction="different"))
    found = decide(answer, direction="different", margin=0.0, confidence=0.95)
    alone = decide(exact, direction="different", margin=0.0, confidence=0.95)
    sides = [fisher_exact(rows(pair), alternative=side).pvalue for side in ("greater", "less")]
    both = min(sides) < 0.025 and alone.outcome == "supported"
    assert (found.outcome == "supported") == both
    assert (found.p_value < 0.05) == both
    assert found.p_value >= min(1, 2 * min(sides)) - 1e-12
    assert found.interval.low <= alone.interval.low
    assert found.interval.high >= alone.interval.high
    assert asked_by_name(answer, asked)["analysis"] == "fisher"
    assert "asks for this test by name" in asked_by_name(answer, asked)["analysis_reason"]


def test_swapped_families_mirror_every_check() -> None:
    pair = PAIRS[0]
    forward = share_answer(*counts(pair), claim())
    back = share_answer(*counts((pair[1], pair[0])), claim(direction="less"))
    for one, other in zip(
        share_checks(forward, claim(), 0.95),
        share_checks(back, claim(direction="less"), 0.95),
        strict=True,
    ):
        assert other.estimate == pytest.approx(-one.estimate)
        assert other.outcome == one.outcome


@pytest.mark.parametrize(
    ("fields", "size", "reason"),
    [
        ({"analysis": "fisher", "margin": 0.1}, 10, "knows no margin"),
        ({"analysis": "fisher", "margin": 0.1, "direction": "same"}, 10, "knows no margin"),
        ({"analysis": "welch"}, 10, "may ask for exact_shares, score_test, fisher"),
        ({"analysis": "exact_shares"}, 300, "beyond 160 blocks"),
    ],
)
def test_a_test_that_cannot_answer_is_refused(fields, size: int, reason: str) -> None:
    with pytest.raises(Refusal, match=reason) as refusal:
        share_answer(Count(yes=3, of=size), Count(yes=5, of=size), claim(**fields))
    assert refusal.value.code == "analysis_does_not_fit"


def test_many_blocks_are_judged_by_the_score_test() -> None:
    answer = share_answer(Count(yes=90, of=200), Count(yes=60, of=200), claim())
    assert answer.test == "score_test"
    names = [check.name for check in share_checks(answer, claim(), 0.95)]
    assert names == ["Newcombe's interval", "Fisher's exact test"]
