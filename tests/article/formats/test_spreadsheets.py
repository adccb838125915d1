"""Tables as CSV and as a workbook, read back by other libraries: text stays text."""

from __future__ import annotations

import csv
import io

import openpyxl
import pytest
from python_calamine import CalamineWorkbook

from workbench.article.formats.spreadsheets import csv_table, workbook
from workbench.article.writing.document import Document, TableBlock
from workbench.article.writing.number import Origin
from workbench.article.writing.phrase import bare, plain
from workbench.article.writing.register import Register

FORMULAS = ("=SUM(A1:A9)", "+cmd|' /C calc'!A0", "-x", "@SUM(A1)", '=HYPERLINK("http://x")')


@pytest.fixture
def hostile() -> TableBlock:
    register = Register()
    counted = (bare(register.count("n", 12_000, "blocks", Origin())),)
    rows = tuple((register.quoted(text, "p", Origin()), counted) for text in FORMULAS)
    return TableBlock(
        name="x", caption=("=1+one",), columns=(("=Claim",), ("n",)), rows=rows, note=("@note",)
    )


def test_a_csv_cell_never_begins_like_a_formula(hostile: TableBlock) -> None:
    rows = list(csv.reader(io.StringIO(csv_table(hostile))))
    assert [row[0] for row in rows] == ["'=Claim", *(f"'{text}" for text in FORMULAS)]


def test_a_workbook_holds_text_and_counts_and_no_formula(hostile: TableBlock) -> None:
    document = Document(title=("=T",), language="en", blocks=(hostile,), numbers=())
    made = workbook(document)
    sheet = openpyxl.load_workbook(io.BytesIO(made)).worksheets[0]
    for number, text in enumerate(FORMULAS, start=3):
        cell = sheet.cell(number, 1)
        assert (cell.value, cell.data_type) == (text, "s")
        assert cell.hyperlink is None
        assert sheet.cell(number, 2).value == 12_000
    assert sheet.cell(2, 1).data_type == "s"


def test_the_tables_of_the_demo_come_back_as_they_are(demo_document: Document) -> None:
    made = CalamineWorkbook.from_filelike(io.BytesIO(workbook(demo_document)))
    assert len(made.sheet_names) == len(demo_document.tables)
    for name, block in zip(made.sheet_names, demo_document.tables, strict=True):
        rows = made.get_sheet_by_name(name).to_python(skip_empty_area=False)
        assert rows[1][: len(block.columns)] == [plain(column) for column in block.columns]
        assert len(rows) >= 2 + len(block.rows)


def test_the_bytes_are_the_same_each_time(demo_document: Document) -> None:
    assert workbook(demo_document) == workbook(demo_document)
