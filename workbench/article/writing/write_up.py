"""The whole write-up of a judged study, section by section."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from workbench.article.versions import versions
from workbench.article.writing.closing import cautions, for_a_builder, stays_open, threats
from workbench.article.writing.colophon import data_statement, made_with, references
from workbench.article.writing.document import Block, Document
from workbench.article.writing.family_means import family_means
from workbench.article.writing.findings import claim_sections, verdict_table
from workbench.article.writing.material import gathered
from workbench.article.writing.measured import measured
from workbench.article.writing.methods import methods
from workbench.article.writing.opening import claimed, in_short

if TYPE_CHECKING:
    from workbench.claims.judgement import Judgement
    from workbench.study import Study


def write_up(
    study: Study,
    judgement: Judgement,
    *,
    made: Mapping[str, str] | None = None,
    figures: bool = True,
    bundle: bool = True,
) -> Document:
    """Write up every verdict of a judgement on `study`.

    Parameters
    ----------
    study
        The study, opened.
    judgement
        The verdicts on its whole ledger; at least one.
    made
        Versions to print; those of this installation when left out.
    figures
        Whether to draw the figures, which takes most of the time.
    bundle
        Whether a bundle to rerun it lies beside it, for the text to name.
    """
    material = gathered(study, judgement, versions() if made is None else made)
    blocks: list[Block] = [
        *in_short(material),
        *claimed(material),
        *measured(material),
        *family_means(material),
        *verdict_table(material, figures=figures),
        *claim_sections(material, figures=figures),
        *stays_open(material),
        *for_a_builder(material),
        *threats(material),
        *cautions(),
        *methods(material),
        *data_statement(material, bundle=bundle),
        *made_with(material),
    ]
    blocks += references(blocks)
    return Document(
        title=material.register.quoted(study.title, "title", material.stated),
        language="en",
        blocks=tuple(blocks),
        numbers=material.register.numbers,
    )
