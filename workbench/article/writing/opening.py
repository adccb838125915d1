"""The head of the write-up: the verdicts in a line each, and what was claimed and by whom."""

from __future__ import annotations

from workbench.article.writing.document import Block, Bullets, Heading, Paragraph, TableBlock
from workbench.article.writing.material import Material
from workbench.article.writing.phrase import Phrase, bare, listed, say
from workbench.article.writing.sentences import difference_claimed, line
from workbench.article.writing.verdict_numbers import LEDGER, VerdictNumbers

ASKED = {
    "family": "of the families, the next blocks included",
    "block": "of the blocks measured alone",
}


def in_short(material: Material) -> list[Block]:
    """Give every verdict in a line."""
    return [
        Heading(level=2, text=("In short",), anchor="in-short"),
        Paragraph(text=tally(material)),
        Bullets(items=tuple(line(of) for of in material.verdicts)),
    ]


def tally(material: Material) -> Phrase:
    """Count the outcomes."""
    register = material.register
    outcomes = [verdict.outcome for verdict in material.judgement.verdicts]
    asked = register.count("claims of the ledger", len(outcomes), "claims", LEDGER)
    parts = [
        say(
            "{count} {outcome}",
            count=bare(
                register.count(f"claims {outcome}", outcomes.count(outcome), outcome, LEDGER)
            ),
            outcome=outcome,
        )
        for outcome in ("supported", "contradicted", "unresolved")
    ]
    return say(
        "Of the claims judged, {asked} in all: {parts}. An unresolved claim is one the readings do "
        "not decide; it is not refuted.",
        asked=bare(asked),
        parts=listed(parts, ", "),
    )


def claimed(material: Material) -> list[Block]:
    """Say what was claimed and who was heard, as it stands in the ledger."""
    return [
        Heading(level=2, text=("What was claimed, and by whom",), anchor="claimed"),
        Paragraph(
            text=(
                "These are the claims of the study's ledger, as they stand there. Each says who is "
                "compared with whom, in what, in which direction and by how much.",
            )
        ),
        TableBlock(
            name="claims",
            caption=("The claims as they were stated",),
            columns=tuple(
                (name,) for name in ("Claim", "As stated", "Heard from", "Difference", "Asked")
            ),
            rows=tuple(row(of) for of in material.verdicts),
        ),
    ]


def row(of: VerdictNumbers) -> tuple[Phrase, ...]:
    """Give a claim as a row of the table."""
    verdict = of.verdict
    heard = of.quoted(verdict.heard_from, "heard from") if verdict.heard_from else ("not stated",)
    difference = difference_claimed(of) or ("could not be read",)
    return (
        of.quoted(verdict.claim, "id"),
        of.quoted(verdict.statement, "statement"),
        heard,
        difference,
        (ASKED[verdict.scope],),
    )
