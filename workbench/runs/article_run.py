"""The write-up of a study as files: text, figures, tables, numbers, references."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from workbench.article.formats.bibliography import bibtex, csl_json
from workbench.article.formats.html import html
from workbench.article.formats.markdown import markdown
from workbench.article.formats.numbers_json import numbers_json
from workbench.article.formats.spreadsheets import csv_table, workbook
from workbench.article.formats.word import word
from workbench.article.writing.write_up import write_up
from workbench.runs.report_folder import Content, publish, report_folder
from workbench.study import DEFAULT_SEED, open_study

if TYPE_CHECKING:
    from workbench.article.writing.document import Document
    from workbench.study import Study

FIGURES, TABLES = "figures", "tables"
MARKDOWN, HTML, WORD = "article.md", "article.html", "article.docx"
BIBTEX, CSL, NUMBERS = "references.bib", "references.json", "numbers.json"
WORKBOOK = "tables.xlsx"
ARTICLE = Content(
    names=(FIGURES, TABLES, MARKDOWN, HTML, WORD, BIBTEX, CSL, NUMBERS),
    key="numbers",
)
FORMATS = ("svg", "png", "pdf")


@dataclass(frozen=True, slots=True, kw_only=True)
class ArticleSummary:
    """Where an article was written, and how much of it there is."""

    folder: Path
    claims: int
    numbers: int
    figures: int
    tables: int


def write_article(study: str | Path, out: str | Path, *, seed: int | None = None) -> ArticleSummary:
    """Write the article of a study to `out`.

    Parameters
    ----------
    study, out : path
        The study is only read. `out` is made, or holds an earlier article, which stays as it is
        until the new one is complete.
    seed : int, optional
        Seed of the resampling checks.

    Raises
    ------
    StudyError
        When the study cannot be opened.
    RunError
        When `out` cannot be used.
    """
    study, out = Path(study).resolve(), Path(out).resolve()
    with report_folder(study, out, ARTICLE) as partial:
        opened = open_study(study)
        judgement = opened.judge(seed=DEFAULT_SEED if seed is None else seed)
        document = write_up(opened, judgement)
        write_files(document, opened, partial)
        publish(partial, out, ARTICLE)
    return ArticleSummary(
        folder=out,
        claims=len(judgement.verdicts),
        numbers=len(document.numbers),
        figures=len(document.figures),
        tables=len(document.tables),
    )


def write_files(document: Document, study: Study, folder: Path) -> None:
    """Write every format of a document."""
    for figure in document.figures:
        for name, picture in (("one-column", figure.narrow), ("two-columns", figure.wide)):
            picture.save(folder / FIGURES, f"{figure.name}-{name}", FORMATS)
        figure.wide.save(folder / FIGURES, figure.name, ("csv",))
    (folder / TABLES).mkdir()
    for table in document.tables:
        text = csv_table(table)
        (folder / TABLES / f"{table.name}.csv").write_text(text, encoding="utf-8")
    (folder / TABLES / WORKBOOK).write_bytes(workbook(document))
    (folder / WORD).write_bytes(word(document))
    texts = {
        MARKDOWN: markdown(document, PurePosixPath(FIGURES)),
        HTML: html(document),
        BIBTEX: bibtex(document.references),
        CSL: csl_json(document.references),
        NUMBERS: numbers_json(document, study.digests),
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
