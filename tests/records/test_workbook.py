from __future__ import annotations

import datetime
import zipfile
from pathlib import Path

import openpyxl
import pytest

from workbench.records.columns import READINGS
from workbench.records.faults import FaultsError
from workbench.records.sheets import Sheet
from workbench.records.sources import Source
from workbench.records.workbook import open_workbook

Rows = list[list[object]]
HEADER: list[object] = ["block", "family", "value"]


def written(folder: Path, rows: Rows, title: str = "Sheet") -> Source:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = title
    for row in rows:
        page.append(row)
    book.save(folder / "readings.xlsx")
    return Source(path=folder / "readings.xlsx", name="readings.xlsx")


def rows_of(sheet: Sheet) -> list[tuple[object, ...]]:
    return [
        (row["row"], *(row[str(at)] for at in range(len(sheet.headings))))
        for batch in sheet.batches()
        for row in batch.to_pylist()
    ]


def test_cells_as_text(folder: Path) -> None:
    source = written(
        folder,
        [
            HEADER,
            ["007", "works", 5.2],
            [7, "works", "5,25"],
            [7.0, True, 0.1 + 0.2],
            [1.5, datetime.date(2026, 11, 25), 1e-5],
            [None, datetime.datetime(2026, 11, 25, 10, 30), " x "],
        ],
    )
    sheet = open_workbook(source, READINGS, None)
    assert sheet.headings == ("block", "family", "value")
    assert rows_of(sheet) == [
        (2, "007", "works", "5.2"),
        (3, "7", "works", "5,25"),
        (4, "7", "True", "0.3"),
        (5, "1.5", "2026-11-25", "1e-05"),
        (6, "", "2026-11-25 10:30:00", "x"),
    ]
    (batch,) = sheet.batches()
    assert batch.column("exact_2").to_pylist() == [True, False, True, True, False]


def test_rows_and_columns_before_the_table(folder: Path) -> None:
    rows: Rows = [[], [None, *HEADER], [None, "B1", "works", "=A1"], [], [None, "B2"]]
    sheet = open_workbook(written(folder, rows), READINGS, None)
    assert sheet.header.row == 2
    assert rows_of(sheet) == [
        (3, "B1", "works", "=A1"),
        (4, "", "", ""),
        (5, "B2", "", ""),
    ]


def test_a_formula_without_a_stored_value_is_shown_not_computed(folder: Path) -> None:
    source = written(folder, [HEADER, ["B1", "works", "=1+2"], ["=A2", "works", 5]])
    sheet = open_workbook(source, READINGS, None)
    assert rows_of(sheet) == [(2, "B1", "works", "=1+2"), (3, "=A2", "works", "5")]


def test_a_formula_with_a_stored_value_is_the_value(folder: Path) -> None:
    """What a spreadsheet program saves: the formula and what it last showed."""
    source = written(folder, [HEADER, ["B1", "works", "=1+2"]])
    _edit(source.path, b"<f>1+2</f><v></v>", b"<f>1+2</f><v>3.5</v>")
    assert rows_of(open_workbook(source, READINGS, None)) == [(2, "B1", "works", "3.5")]


def test_an_error_cell_is_not_an_empty_one(folder: Path) -> None:
    source = written(folder, [HEADER, ["B1", "works", "#DIV/0!"]])
    assert rows_of(open_workbook(source, READINGS, None)) == [(2, "B1", "works", "#error")]


def test_the_formula_of_a_far_cell_is_found(folder: Path) -> None:
    rows: Rows = [HEADER, *(["B1", "works", 5.2] for _ in range(30_000)), ["B1", "works", "=A1"]]
    cells = rows_of(open_workbook(written(folder, rows), READINGS, None))
    assert cells[-1] == (30_002, "B1", "works", "=A1")
    assert cells[-2] == (30_001, "B1", "works", "5.2")


def test_which_sheet(folder: Path) -> None:
    book = openpyxl.Workbook()
    for title in ("Readings", "Other"):
        page = book.create_sheet(title)
        page.append(HEADER)
        page.append([title, "works", "=1"])
    book.save(folder / "readings.xlsx")
    source = Source(path=folder / "readings.xlsx", name="readings.xlsx")
    sheet = open_workbook(source, READINGS, None)
    assert rows_of(sheet) == [(2, "Readings", "works", "=1")]
    assert sheet.notices == (
        ("other_sheets", "Only the sheet “Readings” was read, not “Sheet”, “Other”."),
    )
    assert rows_of(open_workbook(source, READINGS, "Other")) == [(2, "Other", "works", "=1")]
    with pytest.raises(FaultsError, match="no sheet “Lost”") as caught:
        open_workbook(source, READINGS, "Lost")
    assert caught.value.faults[0].code == "no_such_sheet"


def test_an_empty_workbook(folder: Path) -> None:
    with pytest.raises(FaultsError, match="no header") as caught:
        open_workbook(written(folder, []), READINGS, None)
    assert caught.value.faults[0].code == "empty_file"


def test_a_damaged_workbook(folder: Path) -> None:
    source = written(folder, [HEADER, ["B1", "works", 5]])
    source.path.write_bytes(source.path.read_bytes()[:-200])
    with pytest.raises(FaultsError, match="damaged or cut short") as caught:
        open_workbook(source, READINGS, None)
    assert caught.value.faults[0].code == "not_workbook"


def test_an_archive_that_is_no_workbook(folder: Path) -> None:
    path = folder / "readings.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("readme.txt", "nothing")
    with pytest.raises(FaultsError, match="workbook cannot be read") as caught:
        open_workbook(Source(path=path, name="readings.xlsx"), READINGS, None)
    assert caught.value.faults[0].code == "not_workbook"


def test_an_archive_that_would_unpack_without_bound(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = written(folder, [HEADER, ["B1", "works", 5]])
    monkeypatch.setattr("workbench.records.workbook.UNPACKED_LIMIT", 100)
    with pytest.raises(FaultsError, match="unpacks to more than") as caught:
        open_workbook(source, READINGS, None)
    assert caught.value.faults[0].code == "too_large_file"


def _edit(path: Path, old: bytes, new: bytes) -> None:
    """Change the bytes of the first sheet of a workbook."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    name = "xl/worksheets/sheet1.xml"
    assert old in parts[name]
    parts[name] = parts[name].replace(old, new)
    with zipfile.ZipFile(path, "w") as archive:
        for part, content in parts.items():
            archive.writestr(part, content)
