"""The write-up of a study as files: text, figures, tables, numbers, references, and the bundle."""

from __future__ import annotations

import math
import tempfile
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
from workbench.errors import RunError
from workbench.runs.bundle import write_bundle
from workbench.runs.letters import lettered
from workbench.runs.report_folder import Content, publish, report_folder
from workbench.study import DEFAULT_SEED, open_study

if TYPE_CHECKING:
    from workbench.article.writing.document import Document
    from workbench.claims.judgement import Judgement
    from workbench.study import Study

FIGURES, TABLES = "figures", "tables"
MARKDOWN, HTML, WORD = "article.md", "article.html", "article.docx"
BIBTEX, CSL, NUMBERS = "references.bib", "references.json", "numbers.json"
WORKBOOK, BUNDLE = "tables.xlsx", "bundle.zip"
ARTICLE = Content(
    names=(FIGURES, TABLES, MARKDOWN, HTML, WORD, BIBTEX, CSL, BUNDLE, NUMBERS),
    key="numbers",
)
FORMATS = ("svg", "png", "pdf")
JUDGED = ("estimate", "low", "high", "p_value")


@dataclass(frozen=True, slots=True, kw_only=True)
class ArticleSummary:
    """Where an article was written, and how much of it there is."""

    folder: Path
    claims: int
    numbers: int
    figures: int
    tables: int


def write_article(
    study: str | Path,
    out: str | Path,
    *,
    seed: int | None = None,
    letters: bool = False,
    bundle: bool = True,
    engine: str | None = None,
) -> ArticleSummary:
    """Write the article of a study to `out`.

    Parameters
    ----------
    study, out : path
        The study is only read. `out` is made, or holds an earlier article, which stays as it is
        until the new one is complete.
    seed : int, optional
        Seed of the resampling checks.
    letters : bool
        Whether letters stand in place of the names of operators, sellers and sources.
    bundle : bool
        Whether to run every notebook and pack the bundle for a sceptic.
    engine : str, optional
        The engine that reduces the readings; see `intake.read_records`.

    Raises
    ------
    StudyError
        When the study cannot be opened, or its claims file holds no claim.
    RunError
        When `out` cannot be used, or letters in place of names would change a number.
    """
    study, out = Path(study).resolve(), Path(out).resolve()
    seed = DEFAULT_SEED if seed is None else seed
    with (
        report_folder(study, out, ARTICLE) as partial,
        tempfile.TemporaryDirectory(prefix="workbench-") as temporary,
    ):
        opened = open_study(study, engine=engine)
        judgement = opened.judge(seed=seed)
        if letters:
            opened = with_letters(opened, judgement, Path(temporary) / "letters", engine)
            judgement = opened.judge(seed=seed)
        document = write_up(opened, judgement, bundle=bundle)
        texts = write_files(document, opened, partial)
        if bundle:
            work = Path(temporary) / "bundle"
            work.mkdir()
            write_bundle(
                partial / BUNDLE,
                opened.folder,
                tuple(opened.digests),
                {name: texts[name] for name in (MARKDOWN, NUMBERS)},
                seed=seed,
                work=work,
                letters=letters,
                engine=engine,
            )
        publish(partial, out, ARTICLE)
    return ArticleSummary(
        folder=out,
        claims=len(judgement.verdicts),
        numbers=len(document.numbers),
        figures=len(document.figures),
        tables=len(document.tables),
    )


def with_letters(
    study: Study, judgement: Judgement, folder: Path, engine: str | None = None
) -> Study:
    """Open a copy of the study with letters for names; refuse one that gives other numbers."""
    lettered(study.folder, study.digests, folder)
    copy = open_study(folder, engine=engine)
    again = copy.judge(seed=judgement.seed)
    for one, other in zip(judgement.verdicts, again.verdicts, strict=True):
        same = one.outcome == other.outcome and all(
            math.isclose(getattr(one, name), getattr(other, name), rel_tol=1e-9)
            or math.isnan(getattr(one, name))
            for name in JUDGED
        )
        if not same:
            raise RunError(
                f"With letters in place of names the claim {one.claim} comes out different: a "
                "fault of the records hangs on a name. Mend it first; `workbench check` lists "
                "the faults."
            )
    return copy


def write_files(document: Document, study: Study, folder: Path) -> dict[str, str]:
    """Write every format of a document; give the texts by their names."""
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
    return texts
