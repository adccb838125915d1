"""Open any file of records by its ending."""

from __future__ import annotations

from workbench.records.collection.parts import Part, open_part
from workbench.records.columns import Column
from workbench.records.database import open_table
from workbench.records.delimited import open_delimited
from workbench.records.parquetfile import open_parquet
from workbench.records.sheets import Sheet
from workbench.records.sources import DATABASE, Source
from workbench.records.workbook import open_workbook


def open_sheet(
    source: Source,
    columns: tuple[Column, ...],
    *,
    sheet: str | None = None,
    table: str | None = None,
) -> Sheet:
    """Open a checked file; `sheet` names one of a workbook, `table` one of a database."""
    if isinstance(source, Part):
        return open_part(source)
    if source.ending == DATABASE:
        return open_table(source, table)
    if source.ending == ".xlsx":
        return open_workbook(source, columns, sheet)
    if source.ending == ".parquet":
        return open_parquet(source)
    return open_delimited(source, columns)
