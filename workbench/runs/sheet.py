"""The sheet of one block, to hand over with it: a page, a picture and a print of one leaf."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from markupsafe import Markup

from workbench.article.block_views import (
    boring_shown,
    fitness_shown,
    maps_of,
    place_shown,
    plan_shown,
)
from workbench.article.block_words import OUTCOMES, family_words
from workbench.article.figures.block_sheet import block_sheet
from workbench.article.figures.bore_maps import bore_maps
from workbench.article.provenance import provenance
from workbench.article.text import clean
from workbench.errors import RunError
from workbench.runs.pages import CAUTIONS, page

if TYPE_CHECKING:
    from workbench.castings.block_report import BlockReport
    from workbench.castings.inspection import Inspection
    from workbench.study import Study

NAME_LENGTH = 60
FORMATS = ("png", "pdf")


def write_sheet(
    study: Study, inspection: Inspection, report: BlockReport, seed: int, folder: Path
) -> tuple[Path, ...]:
    """Write `block-NAME.html`, `.png` and `.pdf` into a folder; give their paths.

    Raises
    ------
    RunError
        When they cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)  # before anything is drawn for nothing
        files = sheet_files(study, inspection, report, seed)
        for file, content in files.items():
            (folder / file).write_bytes(content)
    except OSError as error:
        raise RunError(f"The sheet cannot be written to {folder}: {error.strerror}.") from None
    return tuple(folder / file for file in files)


def sheet_files(
    study: Study, inspection: Inspection, report: BlockReport, seed: int
) -> dict[str, bytes]:
    """Give the page, the picture and the print by the names of their files."""
    footer = provenance(study, seed=seed)
    maps = maps_of(inspection, report)
    leaf = block_sheet(report, maps, study.settings, footer=footer)
    shown = [
        *fitness_shown(report),
        *plan_shown(inspection, report, maps, footer),
        *([bore_maps(maps, study.settings, step=report.step, footer=footer)] if maps else []),
        *boring_shown(report, footer),
        *place_shown(report),
    ]
    text = page(
        "sheet.html",
        title=clean(f"Block {report.block}"),
        heading=clean(family_words(report, study.settings)),
        study=clean(study.title),
        cautions=CAUTIONS,
        outcomes=[(clean(one.label), OUTCOMES[one.outcome]) for one in report.fitness],
        parts=[Markup(part.html()) for part in shown],  # noqa: S704  escaped by each part itself
        doubts=[clean(doubt.sentence, 1000) for doubt in study.doubts],
        not_answered=[
            (clean(what.replace("_", " ")), clean(why, 1000))
            for what, why in report.not_answered.items()
        ],
        provenance=footer,
    )
    name = file_name(report.block)
    files = {f"{name}.html": text.encode("utf-8")}
    return files | {f"{name}.{form}": leaf.encoded(form) for form in FORMATS}


def file_name(block: str) -> str:
    """Name the files of a block: its name as far as it fits any file system.

    >>> file_name("../W 05")
    'block-W-05'
    """
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", block).strip("-")[:NAME_LENGTH]
    return f"block-{stem or 'sheet'}"
