"""The reporting form held to the rules of the SAMPL guidelines, and its statistic to scipy.

Rules (Lang and Altman 2015, from memory): report the estimate with a measure of precision and its
unit; name the test; give the statistic's degrees of freedom; report p as an equation to two
significant digits, the smallest as < 0.001; say whether tests were one- or two-sided; give the
sample size at each level; state the difference held to matter; say how many comparisons were made.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from scipy import stats

from workbench.article.writing.document import Document, Pair
from workbench.article.writing.phrase import plain
from workbench.article.writing.statistic import statistic_of
from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Verdict


def pairs(document: Document) -> list[tuple[str, str]]:
    return [
        (plain(block.plain), plain(block.reporting))
        for block in document.blocks
        if isinstance(block, Pair)
    ]


@pytest.fixture(scope="module")
def told(demo_document: Document, demo_judgement: Judgement) -> list[tuple[Verdict, str, str]]:
    found = pairs(demo_document)
    return [(v, *pair) for v, pair in zip(demo_judgement.verdicts, found, strict=True)]


def test_each_reports_effect_precision_test_sizes_and_method(
    told: list[tuple[Verdict, str, str]],
) -> None:
    numbered = [row for row in told if row[0].has_numbers]
    assert len(numbered) > 8
    for verdict, _, reporting in numbered:
        unit = "percentage points" if verdict.unit == "share" else verdict.unit
        assert re.search(rf": -?[\d.,]+ {re.escape(unit)}, \d+% interval ", reporting)
        assert f"{verdict.candidate_blocks:,} and {verdict.reference_blocks:,} blocks" in reporting
        counts = f"{verdict.candidate_readings:,} and {verdict.reference_readings:,} readings"
        assert counts in reporting
        assert verdict.method in reporting
        assert re.search(r"against (a margin of [\d.,]+ |no difference)", reporting)
        assert re.search(r"p (= 0\.\d{2,4}|< 0\.001|> 0\.99)\b", reporting)
        assert f"Holm, over {len(told)} claims" in reporting
        assert "*" not in reporting


def test_a_statistic_has_its_freedom_its_tails_and_its_p(
    told: list[tuple[Verdict, str, str]],
) -> None:
    tested = 0
    for verdict, _, reporting in told:
        test = statistic_of(verdict)
        if test is None:
            assert not re.search(r" t\(", reporting)
            continue
        tested += 1
        one = stats.t.sf(abs(test.value), test.degrees_of_freedom)
        assert test.tails * one == pytest.approx(verdict.p_value, rel=1e-6)
        decimals = 1 if test.degrees_of_freedom < 100 else 0
        assert f"t({test.degrees_of_freedom:.{decimals}f}) = {test.value:.2f}" in reporting
        assert ("two-sided" in reporting) == (test.tails == 2)
    assert tested > 8


def test_sameness_contradicted_is_a_two_sided_test_of_the_nearer_margin(
    told: list[tuple[Verdict, str, str]],
) -> None:
    of = next(v for v, _, _ in told if v.direction == "same" and v.degrees_of_freedom > 0)
    far = of.estimate + 5 * of.standard_error
    two = 2 * stats.t.sf((far - of.margin) / of.standard_error, of.degrees_of_freedom)
    against = replace(of, estimate=far, outcome="contradicted", p_value=1 - two / 2, deciding_p=two)
    test = statistic_of(against)
    assert test is not None
    assert test.tails == 2
    assert test.value == pytest.approx((far - of.margin) / of.standard_error)
    assert statistic_of(replace(against, deciding_p=two / 2)) is None


def test_without_an_estimate_no_test_is_told(told: list[tuple[Verdict, str, str]]) -> None:
    for verdict, _, reporting in told:
        if not verdict.has_numbers:
            assert reporting.startswith("No estimate could be made")


def test_plain_words_are_careful(told: list[tuple[Verdict, str, str]]) -> None:
    for verdict, words, _ in told:
        own = words.replace(verdict.statement, "")
        assert not re.search(r"\b(prov\w+|because of|due to|no difference|significant\w*)\b", own)
        if verdict.outcome == "unresolved":
            assert "open" in own
        if verdict.scope == "block":
            assert "these blocks alone" in own
