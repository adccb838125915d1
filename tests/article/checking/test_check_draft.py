"""A draft with planted faults: each is found on its line, and a sound draft passes.

What must be found is written down beside the draft, not taken from the check. The rules on p-values
and effects are those of the SAMPL guidelines (Lang and Altman 2015; from memory).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from workbench.article.checking.check_draft import check_draft, findings_in
from workbench.article.checking.draft import passages
from workbench.article.checking.facts import Facts, facts_of
from workbench.article.checking.finding import CODES
from workbench.article.writing.phrase import plain
from workbench.article.writing.sentences import line, paragraph
from workbench.claims.judgement import Judgement
from workbench.errors import RunError
from workbench.study import Study


@pytest.fixture(scope="module")
def facts(demo_study: Study, demo_judgement: Judgement) -> Facts:
    return facts_of(demo_study, demo_judgement)


def codes(text: str, facts: Facts) -> set[str]:
    return {finding.code for finding in findings_in(passages(text), facts)}


def effect(facts: Facts, claim: str) -> tuple[float, str]:
    of = next(of for of in facts.verdicts if of.place == claim)
    assert of.size is not None
    return abs(of.verdict.estimate), of.size.text


PLANTED = {
    "The trophy deck is 2.10 mm thicker than the works deck.": "number_differs",
    "The trophy deck is nearly 3 mm thicker than the works deck.": "rounded_stronger",
    "The mean web thickness of 5 Deep deck blocks was read.": "number_differs",
    "The trophy deck is significantly thicker than the works deck.": "significant_without_effect",
    "The trophy deck differs from the works deck (p < 0.05).": "p_as_threshold",
    "The trophy walls are thicker than works walls.": "open_as_settled",
    "The deep-deck block is lighter than the works block.": "contradicted_as_true",
    "Deep-deck blocks show no difference in hardness against works.": "no_difference",
    "This proves that the trophy deck is thicker.": "proof_word",
    "The trophy deck is thicker because of a longer core.": "causal_word",
    "The trophy walls are thicker because the cores were set by hand.": "causal_word",
    "Trophy walls are thicker for their longer cores.": "open_as_settled",
    "Every trophy block has a thicker deck than a works block.": "every_block",
    "Trophy blocks always have thicker walls.": "every_block",
    "The trophy deck is twice as thick as the works deck.": "multiple_said",
    "The trophy deck is three mm thicker than the works deck.": "number_in_words",
    "The trophy deck is 0.5 inches thicker than the works deck.": "other_unit",
    "The trophy deck is 0.5 in thicker than the works deck.": "other_unit",
    "The trophy block weighs 77.7 kg more by a neighbour's scale.": "number_differs",
}


@pytest.mark.parametrize(("text", "code"), PLANTED.items())
def test_a_planted_fault_is_found(text: str, code: str, facts: Facts) -> None:
    assert code in CODES
    assert code in codes(text, facts)


@pytest.mark.parametrize(
    "text",
    [
        "Whether the trophy walls are thicker than works walls stays open.",
        "Nothing here proves that the trophy deck is thicker.",
        "The newsletter says: “The trophy deck is proven to be thicker.”",
        "The claim that the deep-deck block is lighter is contradicted.",
        "The deep-deck walls equal works walls within 0.2 mm.",
        "What could make it wrong: all of it lies above the margin of the trophy deck.",
        "Each trophy deck was read in 3 blocks.",
        "The engine was sold in 1968 in 4 colours.",
    ],
)
def test_a_careful_sentence_passes(text: str, facts: Facts) -> None:
    assert codes(text, facts) == set()


def test_too_many_digits_are_found(facts: Facts) -> None:
    value, _ = effect(facts, "deepdeck-deck")
    text = f"The deep-deck deck is {value:.6f} mm thicker than the works deck."
    assert "too_fine" in codes(text, facts)


def test_an_effect_needs_its_interval_and_its_blocks(facts: Facts) -> None:
    _, size = effect(facts, "deck-thicker")
    text = f"The trophy deck is {size} mm thicker than the works deck."
    assert codes(text, facts) == {"no_interval", "no_counts"}


def test_the_sentences_of_the_workbench_pass_their_own_check(facts: Facts) -> None:
    for of in facts.verdicts:
        for phrase in (line(of), paragraph(of)):
            found = findings_in(passages(plain(phrase)), facts)
            assert [(f.code, f.text) for f in found] == [], plain(phrase)


def test_an_end_of_an_interval_is_no_difference(facts: Facts) -> None:
    of = next(of for of in facts.verdicts if of.place == "deck-thicker")
    assert of.low is not None
    assert of.high is not None
    text = f"The trophy deck is {of.high.text} mm thicker than the works deck."
    assert "end_as_effect" in codes(text, facts)
    within = f"It is {of.size.printed} thicker (95% interval {of.low.text} to {of.high.text} mm)."
    assert "end_as_effect" not in codes(f"Of the trophy deck, 3 and 48 blocks: {within}", facts)


def test_a_p_value_alone_in_a_table_is_no_sentence(facts: Facts) -> None:
    p = next(of.p.text for of in facts.verdicts if of.place == "trophy-walls-thicker")
    table = f"| claim | p |\n| --- | --- |\n| trophy-walls-thicker | p {p} |\n"
    assert codes(table, facts) == set()
    assert "significant_without_effect" in codes(f"Trophy walls differ (p {p}).", facts)


def test_one_block_does_not_speak_for_its_family(facts: Facts) -> None:
    alone = replace(facts, single=frozenset({"trophy"}))
    text = "Trophy blocks have a thicker deck than Works blocks."
    assert "one_block_family" in codes(text, alone)
    assert "one_block_family" not in codes(text, facts)
    assert "one_block_family" not in codes("The one Trophy block measured has a deck.", alone)


def test_each_finding_has_its_line_and_a_suggestion(
    tmp_path: Path, demo_study: Study, demo_judgement: Judgement
) -> None:
    draft = tmp_path / "draft.md"
    draft.write_text(
        "# Decks\n\nA first sentence. It runs\nover two lines. This proves\nthat all is well.\n\n"
        "- a point\n- walls were definitely read\n\n| a | b |\n| - | - |\n| x | proof |\n",
        encoding="utf-8",
    )
    found = check_draft(draft, demo_study, demo_judgement)
    assert [finding.line for finding in found] == [4, 8, 12]
    assert all(finding.code == "proof_word" and finding.suggestion for finding in found)


def test_what_cannot_be_read_is_refused(
    tmp_path: Path, demo_study: Study, demo_judgement: Judgement
) -> None:
    with pytest.raises(RunError, match="cannot be read"):
        check_draft(tmp_path / "nowhere.md", demo_study, demo_judgement)
    (tmp_path / "bytes.md").write_bytes(b"\xff\xfe\x00x")
    with pytest.raises(RunError, match="not UTF-8"):
        check_draft(tmp_path / "bytes.md", demo_study, demo_judgement)


def test_hostile_drafts_end_without_a_crash(facts: Facts) -> None:
    for text in ("", "(" * 5000, "9" * 5000, "p < " * 2000, "“" * 3000, "1.2.3.4 mm to 5 mm\x00"):
        findings_in(passages(text), facts)
