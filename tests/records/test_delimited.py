from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from workbench.records.columns import READINGS
from workbench.records.delimited import open_delimited
from workbench.records.faults import FaultsError
from workbench.records.sheets import Sheet
from workbench.records.sources import Source

TABLE = "block,family,value\nB1,works,5.20\nB2,trophy,6.10\n"


def opened(folder: Path, content: bytes | str) -> Sheet:
    path = folder / "readings.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return open_delimited(Source(path=path, name="readings.csv"), READINGS)


def rows_of(sheet: Sheet) -> list[tuple[object, ...]]:
    """Give (row, cells…) of every row, blank ones too."""
    return [
        (row["row"], *(row[str(at)] for at in range(len(sheet.headings))))
        for batch in sheet.batches()
        for row in batch.to_pylist()
    ]


@pytest.mark.parametrize(
    "content",
    [
        TABLE.encode(),
        TABLE.encode("utf-8-sig"),
        TABLE.encode("utf-16"),
        "\ufeff".encode("utf-16-be") + TABLE.encode("utf-16-be"),
        TABLE.replace("\n", "\r\n").encode(),
        TABLE.replace("\n", "\r").encode(),
        TABLE.rstrip("\n").encode(),
        TABLE.replace(",", ";").encode(),
        TABLE.replace(",", "\t").encode(),
        TABLE.replace(",", "|").encode(),
        TABLE.replace(",", " , ").encode(),
        b'"block","family","value"\n"B1","works","5.20"\n"B2",trophy,"6.10"\n',
    ],
)
def test_one_table_in_many_dresses(folder: Path, content: bytes) -> None:
    sheet = opened(folder, content)
    assert sheet.headings == ("block", "family", "value")
    cells = [(row, *(str(cell).strip() for cell in rest)) for row, *rest in rows_of(sheet)]
    assert cells == [(2, "B1", "works", "5.20"), (3, "B2", "trophy", "6.10")]
    assert sheet.notices == ()
    assert sheet.ragged == []


def test_windows_1252_is_read_with_a_notice(folder: Path) -> None:
    sheet = opened(folder, "block,family,unit\nB1,Grün,µm\n".encode("cp1252"))
    assert rows_of(sheet) == [(2, "B1", "Grün", "µm")]
    assert [code for code, _ in sheet.notices] == ["windows_1252"]


def test_utf_8_that_breaks_off_is_windows_1252(folder: Path) -> None:
    assert opened(folder, TABLE.encode() + b"B3,w,5\xc3").notices[0][0] == "windows_1252"


@pytest.mark.parametrize(
    "content",
    [
        b"block,family\nB1,\x00\n",
        TABLE.encode("utf-16-le"),
        b"\xff\xfeb\x00l",
        b"\xff\xfe\x00\xd8\x00\xd8\x00\xd8",
        b"block,family\nB1,\x81\x8d\x8f\n",
    ],
)
def test_what_is_not_text(folder: Path, content: bytes) -> None:
    with pytest.raises(FaultsError) as caught:
        rows_of(opened(folder, content))
    assert caught.value.faults[0].code in ("not_text", "not_csv")


def test_rows_are_counted_as_a_spreadsheet_does(folder: Path) -> None:
    sheet = opened(
        folder,
        '\n\nblock,family,note\n\nB1,works,"two\nlines"\n,,\nB2\nB3,works,x,y\n\nB4,works,z\n;;\n',
    )
    assert sheet.header.row == 3
    assert [row for row in rows_of(sheet) if row[1]] == [
        (5, "B1", "works", "two\nlines"),
        (10, "B4", "works", "z"),
    ]
    assert sheet.ragged == [(7, "B2"), (8, "B3,works,x,y"), (11, ";;")]


def test_rows_of_separators_only_are_blank_however_many(folder: Path) -> None:
    sheet = opened(folder, "block,family,note\n,,,,,\n , \nB1,works,\n")
    assert [row for row in rows_of(sheet) if row[1]] == [(4, "B1", "works", "")]
    assert sheet.ragged == []


def test_a_stated_separator_is_followed(folder: Path) -> None:
    sheet = opened(folder, "sep=;\nblock;family;note\nB1;works;a,b,c\n")
    assert (sheet.separator, sheet.header.row) == (";", 2)
    assert rows_of(sheet) == [(3, "B1", "works", "a,b,c")]


def test_the_separator_that_makes_columns_of_the_contract_wins(folder: Path) -> None:
    sheet = opened(folder, "block;value;note, or remark, or word\nB1;5,2;a\n")
    assert sheet.separator == ";"
    assert rows_of(sheet) == [(2, "B1", "5,2", "a")]


def test_row_numbers_over_many_blocks(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Blocks of 400 bytes, with rows of another length among them: every number stays right."""
    monkeypatch.setattr("workbench.records.delimited.BLOCK", 400)
    lines = ["block,family,value"]
    wanted, odd = [], []
    for row in range(2, 1500):
        if row % 7 == 0:
            lines.append(f"B{row},works")
            odd.append(row)
        elif row % 11 == 0:
            lines.append("")
        else:
            lines.append(f"B{row},works,5.2")
            wanted.append((row, f"B{row}", "works", "5.2"))
    sheet = opened(folder, "\n".join(lines) + "\n")
    assert [row for row in rows_of(sheet) if row[1]] == wanted
    assert [row for row, _ in sheet.ragged] == odd


def test_a_long_row_is_read_and_a_longer_one_refused(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = opened(folder, f"block,family,note\nB1,works,{'x' * 1_000_000}\n")
    assert len(str(rows_of(sheet)[0][3])) == 1_000_000
    monkeypatch.setattr("workbench.records.delimited.BLOCK", 10_000)
    text = "block,family,note\n" + "B1,works,x\n" * 2000 + 'B2,works,"y\n' + "B1,works,x\n" * 2000
    with pytest.raises(FaultsError, match="opened and not closed") as caught:
        rows_of(opened(folder, text))
    assert caught.value.faults[0].code == "open_quote"


@pytest.mark.parametrize("content", ["\n\n\n", " , , \n", "\ufeff", "sep=;\n"])
def test_no_header(folder: Path, content: str) -> None:
    with pytest.raises(FaultsError, match="no header") as caught:
        opened(folder, content)
    assert caught.value.faults[0].code == "empty_file"


def test_a_header_that_cannot_be_read(folder: Path) -> None:
    with pytest.raises(FaultsError, match="header cannot be read") as caught:
        opened(folder, "x" * 200_000 + ",family\nB1,works\n")
    assert caught.value.faults[0].code == "not_csv"


@given(
    st.lists(
        st.tuples(*[st.text(alphabet='ab",;\n\t é', max_size=6)] * 3), min_size=1, max_size=12
    ),
    st.sampled_from([",", ";", "\t"]),
)
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_the_csv_module_writes_is_read_back(
    folder: Path, table: list[tuple[str, str, str]], separator: str
) -> None:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, quoting=csv.QUOTE_ALL, lineterminator="\n")
    writer.writerows([("block", "family", "note"), *table])
    sheet = opened(folder, out.getvalue())
    assert rows_of(sheet) == [(row, *cells) for row, cells in enumerate(table, 2)]
