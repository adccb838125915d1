"""The readings of a workbook written anew: stored values only, without its author and comments."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import xlsxwriter
from python_calamine import CalamineWorkbook

Rows = Sequence[Sequence[Any]]
Change = Callable[[Rows], Rows]
LITERAL = {
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
    "default_date_format": "yyyy-mm-dd",
}


def rewrite_workbook(path: Path, copy: Path, change: Change) -> None:
    """Copy every sheet of a workbook, its rows changed by `change`."""
    book = CalamineWorkbook.from_path(str(path))
    with xlsxwriter.Workbook(str(copy), LITERAL) as made:
        for name in book.sheet_names:
            sheet = made.add_worksheet(name)
            cells = book.get_sheet_by_name(name)
            first_column = cells.start[1] if cells.start else 0
            for row, values in enumerate(change(list(cells.iter_rows()))):
                for column, value in enumerate(values):
                    if value != "":
                        write(sheet, row, column + first_column, value)


def write(sheet: Any, row: int, column: int, value: object) -> None:
    """Write one stored value as what it is."""
    if isinstance(value, bool):
        sheet.write_boolean(row, column, value)
    elif isinstance(value, int | float):
        sheet.write_number(row, column, value)
    elif isinstance(value, datetime.datetime | datetime.date | datetime.time):
        sheet.write_datetime(row, column, value)
    else:
        sheet.write_string(row, column, str(value))
