"""Answers in words, escaped where they are shown: of a claim, of what was measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbench.article.sample import left_out_words
from workbench.article.style import with_unit
from workbench.article.text import clean, html_text, in_notebook, markdown_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbench.article.sample import Sample
    from workbench.claims.verdict import Verdict

TEXT_LIMIT = 2000
SCOPES = {
    "family": "of the families: would it hold for the next blocks",
    "block": "of the blocks measured alone",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Named paragraphs; all text is a stranger's and escaped where it is shown."""

    paragraphs: tuple[tuple[str, str], ...]

    def html(self) -> str:
        """Give the paragraphs as HTML."""
        return "".join(
            f"<p><strong>{html_text(name)}:</strong> {html_text(text, TEXT_LIMIT)}</p>"
            for name, text in self.paragraphs
        )

    def markdown(self) -> str:
        """Give the paragraphs as Markdown."""
        return "".join(
            f"**{markdown_text(name)}:** {markdown_text(text, TEXT_LIMIT)}\n\n"
            for name, text in self.paragraphs
        )

    def plain(self) -> str:
        """Give the paragraphs as lines of text."""
        return "\n".join(
            f"{clean(name)}: {clean(text, TEXT_LIMIT)}" for name, text in self.paragraphs
        )

    def _repr_mimebundle_(self, include: object = None, exclude: object = None) -> dict[str, str]:
        """Show the answer in a notebook."""
        return {"text/html": in_notebook(self.html()), "text/plain": self.plain()}


def described(samples: Sequence[Sample]) -> Answer:
    """Say what there is of each quantity: blocks and readings by family, and what is left out."""
    if not samples:
        return Answer(paragraphs=(("Nothing to show", "No reading may enter a mean."),))
    return Answer(paragraphs=tuple(map(description, samples)))


def description(sample: Sample) -> tuple[str, str]:
    """Name a quantity and count what there is of it."""
    families = "; ".join(
        f"{clean(sample.labels.get(family, family), 80)} {sample.counts(family)}"
        for family in sample.families
    )
    return with_unit(sample.label, sample.unit), f"{families}.{left_out_words(sample)}"


def answer(verdict: Verdict) -> Answer:
    """Put a verdict in words: the claim and who was heard, the outcome, the sentence, the step."""
    heard = verdict.heard_from or "not stated"
    return Answer(
        paragraphs=(
            ("Claim", verdict.statement or verdict.claim),
            ("Heard from", heard),
            ("Asked", SCOPES[verdict.scope]),
            ("Outcome", verdict.outcome),
            ("What may be said", verdict.sentence),
            ("What would change it", verdict.next_step),
        )
    )
