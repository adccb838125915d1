"""A draft held against a study: every finding, in the order of the draft."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from workbench.article.checking.draft import Passage, read_draft
from workbench.article.checking.facts import Facts, facts_of
from workbench.article.checking.finding import Finding
from workbench.article.checking.number_checks import check_numbers
from workbench.article.checking.overreach import check_overreach
from workbench.article.checking.passage_checks import check_passage
from workbench.article.checking.word_checks import check_words

if TYPE_CHECKING:
    from workbench.claims.judgement import Judgement
    from workbench.study import Study


def check_draft(draft: Path, study: Study, judgement: Judgement) -> tuple[Finding, ...]:
    """Hold a draft in Markdown against a judged study.

    The check reads words and numbers, not meaning: what it finds is to be looked at, and a draft
    in which it finds nothing is not thereby right.

    Raises
    ------
    RunError
        When the draft cannot be read.
    """
    passages = read_draft(draft)
    return findings_in(passages, facts_of(study, judgement))


def findings_in(passages: tuple[Passage, ...], facts: Facts) -> tuple[Finding, ...]:
    """Give the findings of a draft that has been taken apart."""
    found: list[Finding] = []
    for passage in passages:
        before = ""
        for sentence in passage.sentences:
            about = facts.about(sentence.text, before)
            found += check_numbers(sentence, facts, about)
            found += check_words(sentence, facts, about)
            found += check_overreach(sentence, facts, about)
            before += f" {sentence.text}"
        found += check_passage(passage, facts)
    return tuple(sorted(found, key=lambda finding: finding.line))
