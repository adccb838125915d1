from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

from workbench.records.database import open_table
from workbench.records.faults import FaultsError
from workbench.records.sources import Source, readings_sources

READINGS = (
    "create table readings as select '00' || i as block, 'works' as family,"
    " cast(5.2 + i / 100 as decimal(9, 2)) as value, i * 0.5e0 as bore,"
    " date '2026-11-25' as measured_on from range(3) t(i)"
)
UNWRITTEN = """
import duckdb, os, sys
held = duckdb.connect(sys.argv[1])
held.execute("insert into readings values ('late', 'works', 6, 1, null)")
os._exit(0)  # killed before the row is written into the file
"""
HOLDER = """
import duckdb, sys, time
held = duckdb.connect(sys.argv[1])
print("open", flush=True)
time.sleep(60)
"""


def made(folder: Path, *statements: str) -> Source:
    with duckdb.connect(str(folder / "shop.duckdb")) as connection:
        for statement in statements:
            connection.execute(statement)
    (source,) = readings_sources(folder, "shop.duckdb")
    return source


def refused(source: Source, said: str, table: str | None = None) -> str:
    with pytest.raises(FaultsError, match=said) as caught:
        list(open_table(source, table).batches())
    (fault,) = caught.value.faults
    assert fault.file == source.name
    return fault.code


def test_the_columns_as_text_in_their_order(folder: Path) -> None:
    sheet = open_table(made(folder, READINGS))
    assert sheet.headings == ("block", "family", "value", "bore", "measured_on")
    (batch,) = sheet.batches()
    texts = [batch.column(str(at)).to_pylist() for at in range(5)]
    assert texts == [
        ["000", "001", "002"],
        ["works"] * 3,
        ["5.20", "5.21", "5.22"],
        ["0", "0.5", "1"],
        ["2026-11-25"] * 3,
    ]
    assert [batch.column(f"exact_{at}")[0].as_py() for at in range(5)] == [
        *(False, False, True, True, False)
    ]
    assert batch.column("row").to_pylist() == [2, 3, 4]


def test_row_numbers_over_batches(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("workbench.records.database.BATCH", 2048)
    source = made(folder, "create table t as select i as value from range(10000) t(i)")
    batches = list(open_table(source).batches())
    assert len(batches) > 1
    for name, first in (("0", 0), ("row", 2)):
        found = [int(one) for batch in batches for one in batch.column(name).to_pylist()]
        assert found == list(range(first, first + 10000))


def test_which_table_is_read(folder: Path) -> None:
    source = made(folder, "create table a as select 1 as value", 'create table "o""dd" as select 2')
    assert refused(source, 'has no table “readings”; say which as .* It holds “a”, “o"dd”') == (
        "no_such_table"
    )
    assert refused(source, "has no table “od”", "od") == "no_such_table"
    assert open_table(source, "a").headings == ("value",)
    assert open_table(source, 'o"dd').headings == ("2",)
    made(folder, READINGS)
    assert "family" in open_table(source).headings


def test_a_view_is_never_asked(folder: Path) -> None:
    (folder / "secret.csv").write_text("block\nhidden\n")
    view = f"create view readings as select * from read_csv('{folder / 'secret.csv'}')"
    assert refused(made(folder, view), "holds no table", "readings") == "no_such_table"


def test_nested_columns_are_refused(folder: Path) -> None:
    source = made(folder, "create table t as select [1, 2] as value")
    assert refused(source, "“value” holds tables or lists") == "nested_column"


@pytest.mark.parametrize("share", [0.001, 0.1, 0.5, 0.9])
def test_a_truncated_file(folder: Path, share: float) -> None:
    source = made(folder, READINGS)
    content = source.path.read_bytes()
    source.path.write_bytes(content[: max(int(share * len(content)), 20)])
    assert refused(source, "The DuckDB file cannot be read: .*shop") == "not_duckdb"


def test_another_kind_of_file(folder: Path) -> None:
    (folder / "shop.duckdb").write_text("block,family\n")
    with pytest.raises(FaultsError, match="not what its ending says"):
        readings_sources(folder, "shop.duckdb")


def test_a_file_that_another_process_writes(folder: Path) -> None:
    source = made(folder, READINGS)
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(source.path)], stdout=subprocess.PIPE, text=True
    )
    try:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "open\n"
        assert refused(source, "Another process has the database open") == "not_duckdb"
    finally:
        holder.kill()
        holder.communicate()


def test_rows_a_dead_process_left_beside_the_file_are_read_and_stamped(folder: Path) -> None:
    source = made(folder, READINGS)
    subprocess.run([sys.executable, "-c", UNWRITTEN, str(source.path)], check=True)
    blocks = [
        one for batch in open_table(source).batches() for one in batch.column("0").to_pylist()
    ]
    assert blocks == ["000", "001", "002", "late"]
    assert (folder / "shop.duckdb.wal").exists()
    assert source.files == ("shop.duckdb", "shop.duckdb.wal")
