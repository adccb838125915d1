"""The tables of a write-up as CSV files and as one workbook: no cell is ever a formula."""

from __future__ import annotations

import csv
import datetime
import io

import xlsxwriter

from workbench.article.picture import unspreadsheeted
from workbench.article.text import clean
from workbench.article.writing.document import Document, TableBlock
from workbench.article.writing.phrase import Phrase, Ref, plain

LIMIT = 20_000
WIDEST = 60  # signs a column is wide at most
LITERAL = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
}
EPOCH = datetime.datetime(2000, 1, 1)


def csv_table(block: TableBlock) -> str:
    """Give a table as CSV; a cell that begins like a formula is led by an apostrophe."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    for row in (block.columns, *block.rows):
        writer.writerow([unspreadsheeted(text_of(cell)) for cell in row])
    return stream.getvalue()


def workbook(document: Document) -> bytes:
    """Give all tables as one workbook, a sheet each; counts are numbers, all else is text."""
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, LITERAL) as made:
        made.set_properties({"title": text_of(document.title)[:255], "created": EPOCH})
        head = made.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
        body = made.add_format({"text_wrap": True, "valign": "top"})
        for number, block in enumerate(document.tables, start=1):
            sheet = made.add_worksheet(f"{number} {block.name}"[:31])
            sheet.write_string(0, 0, f"Table {number}. {text_of(block.caption)}", head)
            sheet.freeze_panes(2, 1)
            for column, name in enumerate(block.columns):
                sheet.write_string(1, column, text_of(name), head)
                longest = max(len(text_of(row[column])) for row in (block.columns, *block.rows))
                sheet.set_column(column, column, min(longest + 2, WIDEST))
            for row, cells in enumerate(block.rows, start=2):
                for column, cell in enumerate(cells):
                    count = counted(cell)
                    if count is None:
                        sheet.write_string(row, column, text_of(cell), body)
                    else:
                        sheet.write_number(row, column, count, body)
            if block.note:
                sheet.write_string(len(block.rows) + 2, 0, text_of(block.note))
    return stream.getvalue()


def counted(cell: Phrase) -> float | None:
    """Give the count a cell holds, where it holds nothing else."""
    match cell:
        case (Ref(number=number),) if number.kind == "count":
            return number.value
        case _:
            return None


def text_of(phrase: Phrase) -> str:
    """Give a phrase as the text of a cell."""
    return clean(plain(phrase), LIMIT)
