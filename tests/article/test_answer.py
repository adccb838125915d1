"""A verdict in words."""

from __future__ import annotations

import lxml.html

from workbench.article.answer import answer
from workbench.claims.verdict import Verdict


def test_an_answer_says_claim_outcome_sentence_and_step_and_runs_nothing(verdict: Verdict) -> None:
    said = answer(verdict)
    page = lxml.html.fromstring(f"<div>{said.html()}</div>")
    assert not page.xpath("//script | //img | //a")
    text = page.text_content()
    for part in (verdict.outcome, verdict.sentence, verdict.next_step):
        assert part in text
        assert part in said.plain()
    assert said._repr_mimebundle_()["text/plain"] == said.plain()


def test_an_answer_keeps_its_shape_in_markdown(verdict: Verdict) -> None:
    from nbconvert.filters.markdown_mistune import markdown2html_mistune

    page = lxml.html.fromstring(f"<div>{markdown2html_mistune(answer(verdict).markdown())}</div>")
    assert len(page.xpath("//p")) == 6
    assert not page.xpath("//script | //img | //a | //code")
