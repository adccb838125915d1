from __future__ import annotations

import csv
import io
from pathlib import Path

import openpyxl
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.records.conftest import SETTINGS
from workbench.errors import StudyError
from workbench.records.columns import READINGS, names
from workbench.records.faults import FaultsError
from workbench.records.intake import read_records
from workbench.records.settings import load_settings

HEADER = "block,family,quantity,value,unit"
ROWS = [
    ("007", "works", "wall_thickness", "5.20", "mm"),
    ("8", "works", "deck_thickness", "11.25", "mm"),
    ("9", "trophy", "mass", "61.5", "kg"),
]
TEXT = "\n".join([HEADER, *(",".join(row) for row in ROWS)]) + "\n"


def balance(records) -> None:  # type: ignore[no-untyped-def]
    """Hold what must hold of any records."""
    assert records.rows_in == records.accepted + records.rejected
    assert records.rows_in == sum(item.rows_in for item in records.files)
    assert all(item.rows_in == item.accepted + item.rejected for item in records.files)
    assert records.accepted == records.cells["n"].sum()
    found = records.rejected_rows()
    assert len(found[["file", "row"]].drop_duplicates()) == records.rejected
    assert records.fault_count >= len(found)


def content(records) -> list[list[object]]:  # type: ignore[no-untyped-def]
    columns = ["block", "family", "quantity", "unit", "kmin", "n"]
    return records.cells.sort_values("block")[columns].to_numpy().tolist()


def test_csv_workbook_and_parquet_give_the_same_cells(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    as_csv = read(TEXT)
    balance(as_csv)
    (folder / "readings.csv").unlink()
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.append(HEADER.split(","))
    for block, family, quantity, value, unit in ROWS:
        page.append([block, family, quantity, float(value), unit])
    book.save(folder / "readings.xlsx")
    as_workbook = read()
    balance(as_workbook)
    (folder / "readings.xlsx").unlink()
    columns = dict(zip(HEADER.split(","), zip(*ROWS, strict=True), strict=True))
    table = pa.table(columns | {"value": [float(value) for value in columns["value"]]})
    pq.write_table(table, folder / "readings.parquet")
    as_parquet = read()
    balance(as_parquet)
    (folder / "readings.parquet").unlink()
    (folder / "readings").mkdir()
    pq.write_table(table.slice(0, 2), folder / "readings" / "a.parquet")
    pq.write_table(
        table.slice(2).select(["unit", "value", "quantity", "family", "block"]),
        folder / "readings" / "b.parquet",
    )
    as_folder = read()
    balance(as_folder)
    assert [(item.file, item.rows_in) for item in as_folder.files] == [
        ("readings/a.parquet", 2),
        ("readings/b.parquet", 1),
    ]
    # The text 5.20 has two decimals, the number 5.2 one: the step differs, nothing else.
    columns_alike = ["block", "family", "quantity", "unit", "n"]
    for other in (as_workbook, as_parquet, as_folder):
        pd.testing.assert_frame_equal(as_csv.cells[columns_alike], other.cells[columns_alike])
        assert (other.cells["kmin"] * other.cells["step"]).tolist() == pytest.approx(
            (as_csv.cells["kmin"] * as_csv.cells["step"]).tolist(), rel=1e-15
        )
    assert as_csv.cells["block"].tolist() == ["9", "007", "8"]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> list[list[object]]:
    """Give the content of the readings as they are in `TEXT`."""
    folder = tmp_path_factory.mktemp("study")
    (folder / "study.toml").write_text(SETTINGS, encoding="utf-8")
    (folder / "readings.csv").write_text(TEXT, encoding="utf-8")
    return content(read_records(folder, load_settings(folder)))


@pytest.mark.parametrize(
    "text",
    [
        TEXT.replace("\n", "\r\n"),
        "\ufeff" + TEXT,
        TEXT.replace(",", ";").replace(".", ","),
        TEXT.replace(",", "\t"),
        TEXT.replace(",", "  ,  "),
        TEXT.replace("\n", "\n\n"),
        TEXT.replace("\n", "\n,,,,\n"),
        TEXT.replace("block,family", "Casting,TYPE").replace("value,unit", "Reading,UOM"),
        TEXT.replace("wall_thickness", "Wall Thickness").replace("mm", "MM"),
        "unit,ignored,value,quantity,family,block\n"
        + "".join(f"{row[4]},x,{row[3]},{row[2]},{row[1]},{row[0]}\n" for row in ROWS),
    ],
)
def test_the_same_readings_in_other_dresses(read, plain, text: str) -> None:  # type: ignore[no-untyped-def]
    records = read(text.encode("utf-8"))
    balance(records)
    assert records.faults == ()
    assert content(records) == plain


def test_a_header_and_no_rows(read) -> None:  # type: ignore[no-untyped-def]
    records = read(HEADER + "\n")
    balance(records)
    assert (records.rows_in, records.fault_count, len(records.cells)) == (0, 0, 0)
    assert [notice.code for notice in records.notices] == ["no_rows"]
    assert records.cells["n"].dtype == "int64"
    assert len(records.blocks) == 0
    assert len(records.values("mass")) == 0


def test_a_missing_column_is_a_fault_of_the_file_and_of_each_row(read) -> None:  # type: ignore[no-untyped-def]
    records = read("block,family,quantity,value\nB1,works,mass,5\nB2,works,mass,6\n")
    balance(records)
    assert [(fault.row, fault.column, fault.code) for fault in records.faults] == [
        (None, "unit", "missing_column"),
        (2, "unit", "missing"),
        (3, "unit", "missing"),
    ]
    assert (records.accepted, records.rejected, records.fault_count) == (0, 2, 3)


def test_a_table_of_something_else(read) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(FaultsError, match="names no column of the contract") as caught:
        read("alpha,beta\n1,2\n3,4\n")
    assert caught.value.faults[0].code == "no_known_column"


def test_titles_above_the_header(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    records = read("Inspection of the walls\n\nby: a block's friend,,\n" + TEXT + "x,y\n")
    assert [(fault.row, fault.code) for fault in records.faults] == [(8, "ragged_row")]
    assert records.accepted == 3
    assert [notice.code for notice in records.notices] == ["rows_above_header"]


def test_two_headings_for_one_column(read) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(FaultsError, match="both stand for “value”") as caught:
        read("block,family,quantity,reading,result,unit\nB1,works,mass,5,6,kg\n")
    assert caught.value.faults[0].code == "two_headings"
    records = read("block,family,quantity,reading,value,unit\nB1,works,mass,5,6,kg\n")
    assert records.cells["kmin"].tolist() == [6]
    assert "“reading” is not read" in records.notices[0].sentence


def test_the_readings_a_study_names(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "walls.csv").write_text(TEXT)
    (folder / "readings.csv").write_text("not looked at")
    records = read(settings="[readings]\nfile = 'walls.csv'\n")
    assert records.files[0].file == "walls.csv"
    with pytest.raises(FaultsError, match="leaves the study"):
        read(settings="[readings]\nfile = '../walls.csv'\n")


def test_stations_have_one_name(read) -> None:  # type: ignore[no-untyped-def]
    text = "block,family,quantity,value,unit,station,depth\n" + "".join(
        f"B{at},works,wall,5.2,mm,{station},{depth}\n"
        for at, (station, depth) in enumerate(
            [
                ("thrust", "20"),
                ("Thrust ", "20.0"),
                ("90", "20.50"),
                ("90.0°", "100"),
                ("450", "top"),
                ("45", "020"),
                ("360", "0.0"),
                ("", ""),
            ]
        )
    )
    records = read(text, settings="[drawing.stations]\nfront = 0\nthrust = 90\n")
    assert [fault.value for fault in records.faults] == ["450"]
    cells = records.cells.sort_values("block")
    assert cells["station"].tolist() == [*["thrust"] * 4, "45", "front", ""]
    assert cells["depth"].tolist() == ["20", "20", "20.5", "100", "020", "0", ""]


def test_defaults_of_sampling_and_contact(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        "block,family,quantity,value,unit,sampling,contact\n"
        "B1,works,mass,5,kg,,\nB1,works,mass,5,kg,Search,DOUBTFUL\n"
    )
    assert records.cells[["sampling", "contact"]].to_numpy().tolist() == [
        ["grid", "good"],
        ["search", "doubtful"],
    ]


def test_values_with_counts(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        "block,family,quantity,value,unit,repeat\n"
        "B1,works,mass,5.1,kg,1\nB1,works,mass,5.1,kg,2\nB2,works,mass,5.1,kg,1\n"
        "B2,trophy,mass,5.1,kg,2\nB3,trophy,mass,5,kg,1\nB3,trophy,wall,5,mm,1\n"
    )
    assert records.values("mass").to_numpy().tolist() == [["kg", 0.1, 50, 1], ["kg", 0.1, 51, 3]]
    by_family = records.values("mass", ["family"])
    assert by_family.columns.tolist() == ["family", "unit", "step", "k", "n"]
    assert by_family.to_numpy().tolist() == [
        ["trophy", "kg", 0.1, 50, 1],
        ["works", "kg", 0.1, 51, 3],
    ]
    assert records.values("mass", ["block", "unit"])["n"].sum() == 4
    with pytest.raises(ValueError, match="“colour” is not one of family"):
        records.values("mass", ["colour"])


def test_only_the_first_faults_are_kept_in_memory(read) -> None:  # type: ignore[no-untyped-def]
    text = HEADER + "\n" + "".join(f"B{at},works,mass,x,kg\n" for at in range(500))
    records = read(text)
    balance(records)
    assert len(records.faults) == 200
    assert records.fault_count == 500
    assert len(records.rejected_rows()) == 500


def test_a_large_file_is_read_on_disk_with_the_same_answer(
    read, monkeypatch: pytest.MonkeyPatch
) -> None:  # type: ignore[no-untyped-def]
    text = HEADER + "\n" + "".join(f"B{at % 50},works,mass,{at},kg\n" for at in range(1, 3000))
    text += "B1,works,mass,x,kg\nB1,trophy,mass,5,kg\n"
    in_memory = read(text)
    monkeypatch.setattr("workbench.records.intake_pass.SMALL", 0)
    on_disk = read(text, memory_limit_mb=128)
    balance(on_disk)
    pd.testing.assert_frame_equal(in_memory.cells, on_disk.cells)
    pd.testing.assert_frame_equal(
        in_memory.values("mass", ["block"]), on_disk.values("mass", ["block"])
    )
    assert in_memory.faults == on_disk.faults


def test_an_engine_without_room_says_so(read, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr("workbench.records.intake_pass.SMALL", 0)
    text = HEADER + "\n" + "".join(f"B{at},works,mass,{at},kg\n" for at in range(1, 200_000))
    with pytest.raises(StudyError, match="ran out of room"):
        read(text, memory_limit_mb=1)


def test_nothing_stays_behind(read, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(scratch))
    records = read(TEXT)
    assert list(scratch.iterdir()) == [records.shelf.folder]
    del records
    assert list(scratch.iterdir()) == []
    with pytest.raises(FaultsError):
        read("a\x00b")
    assert list(scratch.iterdir()) == []


CELLS = st.one_of(
    st.sampled_from(
        ["", "B1", "works", "wall_thickness", "mass", "5.20", "5,2", "1,234", "-1", "nan", "mm"]
    ),
    st.sampled_from(["kg", "grid", "=1+1", "thrust", "1e400", "é", '"', "\n", "x" * 101]),
    st.text(max_size=8),
)


@given(
    st.lists(st.lists(CELLS, min_size=1, max_size=7), max_size=20),
    st.permutations(names(READINGS)),
    st.sampled_from([",", ";", "\t"]),
)
@settings(
    max_examples=15,  # a file takes as long as hundreds of rows: fewer files, of more rows
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_rows_in_are_rows_accepted_and_rejected(  # type: ignore[no-untyped-def]
    read, rows: list[list[str]], header: list[str], separator: str
) -> None:
    """Any table at all, any cells: every row that is not blank is in one of the two."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator="\n", escapechar="\\")
    header = header[:7]
    writer.writerows([header, *rows])
    text = out.getvalue().replace("\x00", "").encode("utf-8", "replace")
    balance(read(text))


@given(st.binary(max_size=450))
@settings(
    max_examples=20,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_any_bytes_at_all_are_read_or_refused(read, junk: bytes) -> None:  # type: ignore[no-untyped-def]
    try:
        records = read(HEADER.encode() + b"\n" + junk)
    except FaultsError:
        return
    balance(records)
