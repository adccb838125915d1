"""Load the text of every file of readings into the engine, and what was found on the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import pyarrow as pa

from workbench.records.columns import READINGS, Column, names
from workbench.records.engine import Engine
from workbench.records.faults import Fault
from workbench.records.files import open_sheet
from workbench.records.notice import Notice
from workbench.records.settings import Settings
from workbench.records.sheets import Sheet, map_headings, text_batches, text_schema
from workbench.records.sources import Source


@dataclass(slots=True)
class Findings:
    """What intake gathers on its way: faults of whole files and of small ones, and notices."""

    faults: list[Fault] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)

    def note(self, file: str, code: str, sentence: str) -> None:
        """Add a notice."""
        self.notices.append(Notice(file=file, code=code, sentence=sentence))


def load_readings(
    engine: Engine,
    sources: Sequence[Source],
    settings: Settings,
    findings: Findings,
    columns: tuple[Column, ...] = READINGS,
) -> None:
    """Fill three tables from the files of readings, and make a fourth.

    `raw` has the text of every row with its file and row number, `ragged` the rows that are not as
    long as their header, `files` what the rules must know of each file. `brought` is empty: it is
    for the faults of rows that were rejected earlier, when they were added to a collection.
    `columns` are those of the readings, and where wanted further ones.
    """
    texts = ", ".join(f"{name} varchar" for name in names(columns))
    engine.run(f"create table raw (file integer, row bigint, exact boolean, {texts})")
    engine.run("create table ragged (file integer, row bigint, value varchar)")
    engine.run(
        'create table brought (file integer, row bigint, place integer, "column" varchar,'
        " value varchar, code varchar, said varchar)"
    )
    sheets: list[Sheet] = []
    for at, source in enumerate(sources):
        sheet = open_sheet(
            source, columns, sheet=settings.readings.sheet, table=settings.readings.table
        )
        _load_sheet(engine, at, sheet, findings, columns)
        sheets.append(sheet)
    engine.table(
        "files",
        {
            "file": pa.array(range(len(sheets)), pa.int32()),
            "name": pa.array([sheet.source.name for sheet in sheets], pa.string()),
            "stated": pa.array([settings.readings.decimal or ""] * len(sheets), pa.string()),
            "semicolon": pa.array([sheet.separator == ";" for sheet in sheets], pa.bool_()),
            "row_inside": pa.array([sheet.row_inside for sheet in sheets], pa.string()),
        },
    )


def _load_sheet(
    engine: Engine, at: int, sheet: Sheet, findings: Findings, columns: tuple[Column, ...]
) -> None:
    """Add the rows of one file, in batches."""
    found = map_headings(sheet, columns)
    texts = ", ".join(name if name in found.places else f"'' as {name}" for name in names(columns))
    engine.append(
        "raw",
        f"{at} as file, row, exact, {texts}",
        text_schema(found.places),
        text_batches(sheet, found.places),
    )
    ragged = pa.table(
        {
            "row": pa.array([row for row, _ in sheet.ragged], pa.int64()),
            "value": pa.array([line for _, line in sheet.ragged], pa.string()),
        }
    )
    engine.append("ragged", f"{at} as file, row, value", ragged.schema, ragged.to_batches())
    findings.faults += found.faults
    for code, sentence in (*sheet.notices, *found.notices):
        findings.note(sheet.source.name, code, sentence)
