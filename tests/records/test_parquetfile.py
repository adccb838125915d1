from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from workbench.records.faults import FaultsError
from workbench.records.parquetfile import open_parquet
from workbench.records.sources import Source


def written(folder: Path, columns: dict[str, pa.Array]) -> Source:
    pq.write_table(pa.table(columns), folder / "readings.parquet")
    return Source(path=folder / "readings.parquet", name="readings.parquet")


@pytest.mark.parametrize(
    ("column", "texts", "exact"),
    [
        (pa.array(["007", None, " x "]), ["007", "", " x "], False),
        (pa.array(["a", "b", "a"]).dictionary_encode(), ["a", "b", "a"], False),
        (pa.array(["a", "b", "a"], pa.large_string()), ["a", "b", "a"], False),
        (pa.array([5.0, 5.25, None]), ["5", "5.25", ""], True),
        (pa.array([0.1 + 0.2, 5.233999999999999, 1e-5]), ["0.3", "5.234", "0.00001"], True),
        (pa.array([5.2, 0.1, 3], pa.float32()), ["5.2", "0.1", "3"], True),
        (pa.array([1, -2, 3], pa.int16()), ["1", "-2", "3"], True),
        (pa.array([Decimal("5.20")] * 3), ["5.20"] * 3, True),
        (pa.array([float("nan"), float("inf"), 1.5]), ["nan", "inf", "1.5"], True),
        (pa.array([datetime.date(2026, 11, 25)] * 3), ["2026-11-25"] * 3, False),
        (
            pa.array([datetime.datetime(2026, 11, 25), datetime.datetime(2026, 1, 2, 3, 4), None]),
            ["2026-11-25", "2026-01-02 03:04:00", ""],
            False,
        ),
        (pa.array([True, False, None]), ["true", "false", ""], False),
        (pa.nulls(3), ["", "", ""], False),
        (pa.array([b"a", b"b", None]), ["a", "b", ""], False),
    ],
)
def test_columns_as_text(folder: Path, column: pa.Array, texts: list[str], exact: bool) -> None:
    sheet = open_parquet(written(folder, {"value": column}))
    (batch,) = sheet.batches()
    assert batch.column("0").to_pylist() == texts
    assert batch.column("0").type == pa.string()
    assert batch.column("exact_0").to_pylist() == [exact] * 3
    assert batch.column("row").to_pylist() == [2, 3, 4]


def test_row_numbers_over_batches(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("workbench.records.parquetfile.BATCH", 10)
    sheet = open_parquet(written(folder, {"value": pa.array(range(35))}))
    batches = list(sheet.batches())
    assert len(batches) == 4
    assert [row for batch in batches for row in batch.column("row").to_pylist()] == list(
        range(2, 37)
    )


def test_a_truncated_file(folder: Path) -> None:
    source = written(folder, {"value": pa.array(range(1000))})
    source.path.write_bytes(source.path.read_bytes()[:-20])
    with pytest.raises(FaultsError, match="Parquet file cannot be read") as caught:
        open_parquet(source)
    assert caught.value.faults[0].code == "not_parquet"


def test_a_file_damaged_inside(folder: Path) -> None:
    source = written(folder, {"value": pa.array([f"text {at}" for at in range(5000)])})
    content = bytearray(source.path.read_bytes())
    content[100:2000] = b"\xff" * 1900
    source.path.write_bytes(bytes(content))
    with pytest.raises(FaultsError, match="Parquet file cannot be read"):
        list(open_parquet(source).batches())


def test_text_that_is_no_text(folder: Path) -> None:
    source = written(folder, {"value": pa.array([b"\xff\xfe"])})
    with pytest.raises(FaultsError, match="Parquet file cannot be read"):
        list(open_parquet(source).batches())


def test_nested_columns_are_refused(folder: Path) -> None:
    with pytest.raises(FaultsError, match="“value” holds tables or lists") as caught:
        open_parquet(written(folder, {"value": pa.array([[1, 2]])}))
    assert caught.value.faults[0].code == "nested_column"
