"""The figures that carry the write-up: all claims at once, and each claim with its blocks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.article.figures.printed_claim import printed_claim
from workbench.article.figures.printed_ledger import printed_ledger
from workbench.article.gathering import gathered
from workbench.article.print_style import ONE_COLUMN, TWO_COLUMNS
from workbench.article.writing.document import Block, FigureBlock
from workbench.article.writing.material import Material
from workbench.article.writing.number import Origin
from workbench.article.writing.verdict_numbers import VerdictNumbers
from workbench.errors import Refusal

if TYPE_CHECKING:
    from workbench.article.sample import Sample


def ledger_figure(material: Material) -> list[Block]:
    """Draw all claims that have an estimate; nothing where none has."""
    if not any(of.verdict.has_numbers for of in material.verdicts):
        return []
    narrow, wide = (
        printed_ledger(material.judgement, material.study.settings, width)
        for width in (ONE_COLUMN, TWO_COLUMNS)
    )
    known = tuple(
        number
        for of in material.verdicts
        for number in (of.estimate, of.low, of.high)
        if number is not None
    )
    origin = Origin(notebook="summary", cell="forest", inputs=tuple(material.study.digests))
    register = material.register
    return [
        FigureBlock(
            name="verdicts",
            caption=register.quoted(wide.caption, "figure of the verdicts", origin),
            alt=register.quoted(wide.alt, "figure of the verdicts", origin, known),
            narrow=narrow,
            wide=wide,
        )
    ]


def claim_figure(material: Material, of: VerdictNumbers, number: int) -> list[Block]:
    """Draw one claim; nothing where it has no estimate."""
    verdict = of.verdict
    if not verdict.has_numbers:
        return []
    sample = sample_for(material, of)
    narrow, wide = (
        printed_claim(verdict, material.study.settings, sample, width)
        for width in (ONE_COLUMN, TWO_COLUMNS)
    )
    return [
        FigureBlock(
            name=f"claim-{number}",
            caption=of.quoted(wide.caption, "figure"),
            alt=of.quoted(wide.alt, "figure"),
            narrow=narrow,
            wide=wide,
        )
    ]


def sample_for(material: Material, of: VerdictNumbers) -> Sample | None:
    """Gather the block means behind a claim on a mean; None where there are none to draw."""
    verdict, study = of.verdict, material.study
    known = study.settings.quantities.get(verdict.quantity)
    if verdict.figure != "mean" or known is None or known.kind == "feature":
        return None
    try:
        sample = gathered(study, verdict.quantity)
    except Refusal:
        return None
    pair = sample.only((verdict.candidate, verdict.reference))
    return pair if len(pair.families) == 2 else None
