"""The verdict table, and a section for each claim: the third and longest form of a verdict."""

from __future__ import annotations

from workbench.article.numbers import verdict_words
from workbench.article.verdict_tables import check_row
from workbench.article.writing.claim_figures import claim_figure, ledger_figure
from workbench.article.writing.document import (
    Block,
    Bullets,
    Heading,
    Pair,
    Paragraph,
    TableBlock,
)
from workbench.article.writing.material import Material
from workbench.article.writing.phrase import Phrase, Ref, bare, joined, say
from workbench.article.writing.reporting import reporting
from workbench.article.writing.sentences import OUTCOMES, interval, paragraph
from workbench.article.writing.verdict_numbers import VerdictNumbers

AFTER = {None: "not decided", True: "stands", False: "does not stand"}


def verdict_table(material: Material, *, figures: bool) -> list[Block]:
    """Give every verdict as a row, and the figure of all of them."""
    confidence = material.verdicts[0].confidence
    return [
        Heading(level=2, text=("The verdicts",), anchor="verdicts"),
        TableBlock(
            name="verdicts",
            caption=say("Verdicts, with intervals at {confidence}", confidence=confidence),
            columns=tuple(
                (name,)
                for name in (
                    "Claim",
                    "Outcome",
                    "Estimate",
                    "Interval",
                    "p",
                    "Blocks",
                    "Among all claims (Holm)",
                )
            ),
            rows=tuple(verdict_row(of) for of in material.verdicts),
            note=(
                "Candidate against reference, in the order the claim names them. The interval of "
                "a claim of sameness is the shorter one that decides it. p is that of the claim's "
                "margin, not of no difference.",
            ),
        ),
        *(ledger_figure(material) if figures else []),
    ]


def verdict_row(of: VerdictNumbers) -> tuple[Phrase, ...]:
    """Give one verdict as a row."""
    there = of.estimate is not None
    return (
        of.quoted(of.verdict.claim, "id"),
        (OUTCOMES[of.verdict.outcome].lower(),),
        say("{estimate}", estimate=of.estimate) if of.estimate is not None else ("none",),
        interval(of) if there else ("none",),
        (Ref(number=of.p, text=of.p.text.removeprefix("= ")),) if of.p is not None else ("none",),
        say(
            "{ours} / {others}",
            ours=bare(of.candidate.blocks),
            others=bare(of.reference.blocks),
        ),
        (AFTER[of.verdict.stands_after_adjustment],),
    )


def claim_sections(material: Material, *, figures: bool) -> list[Block]:
    """Give each claim its section."""
    blocks: list[Block] = [
        Heading(level=2, text=("Claim by claim",), anchor="claim-by-claim"),
        Paragraph(
            text=(
                "Each finding stands twice: in plain words for every reader, and beside it in the "
                "form a statistical reviewer asks for.",
            )
        ),
    ]
    for number, of in enumerate(material.verdicts, start=1):
        blocks += section(material, of, number, figures=figures)
    return blocks


def section(material: Material, of: VerdictNumbers, number: int, *, figures: bool) -> list[Block]:
    """Give one claim in full: both forms, figure, other analyses, threats, what would settle it."""
    verdict = of.verdict
    threats = tuple(of.quoted(threat.text, "threats") for threat in verdict.warnings)
    return [
        Heading(
            level=3,
            text=joined([*of.quoted(verdict.claim, "id"), f": {verdict.outcome}"]),
            anchor=f"claim-{number}",
        ),
        Pair(plain=paragraph(of), reporting=reporting(of, len(material.verdicts))),
        *chosen(of),
        *(claim_figure(material, of, number) if figures else []),
        *([checks(of, number)] if verdict.checks else []),
        Paragraph(
            text=("What could make it wrong:",)
            if threats
            else ("Nothing in the records speaks against this verdict.",)
        ),
        *([Bullets(items=threats)] if threats else []),
        Paragraph(
            text=joined(["What would change it: ", *of.quoted(verdict.next_step, "next step")])
        ),
    ]


def chosen(of: VerdictNumbers) -> list[Block]:
    """Say why this analysis decided, where the verdict says so."""
    reason = of.verdict.analysis_reason
    if not reason:
        return []
    return [Paragraph(text=joined(["Why this analysis: ", *of.quoted(reason, "analysis")]))]


def checks(of: VerdictNumbers, number: int) -> TableBlock:
    """Set the deciding analysis beside the others."""
    verdict = of.verdict
    first = (
        f"{verdict.method or 'deciding analysis'} (decides)",
        verdict_words(verdict, verdict),
        f"p {of.p.text}" if of.p is not None else "no p-value",
        verdict.outcome,
        "",
    )
    rows = (first, *(check_row(check, verdict) for check in verdict.checks))
    return TableBlock(
        name=f"analyses-{number}",
        caption=joined(["Analyses of the claim ", *of.quoted(verdict.claim, "id")]),
        columns=tuple(
            (name,) for name in ("Analysis", "Estimate (interval)", "p", "Outcome", "Note")
        ),
        rows=tuple(
            tuple(of.quoted(cell, f"analyses, row {place}") for cell in row)
            for place, row in enumerate(rows)
        ),
        note=say("Intervals at {confidence}.", confidence=of.confidence),
    )
