from __future__ import annotations

import json
import os
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from workbench.errors import StudyError
from workbench.records.store import save_reduced

TEXT = (
    "block,family,quantity,value,unit\n"
    "B1,works,mass,61.5,kg\nB2,works,mass,61.7,kg\nB3,trophy,mass,x,kg\nB3,works,mass,62,kg\n"
)


def test_what_is_kept_comes_back_the_same(read, folder: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "blocks.csv").write_text("block,family,price\nB1,works,900\n")
    (folder / "calibrations.csv").write_text(
        "calibration,gauge,reference,indicated,unit\nc1,g1,5,5.01,mm\n"
    )
    records = read(TEXT)
    save_reduced(records, tmp_path / "kept")
    again = read(reduced=tmp_path / "kept")
    for name in ("rows_in", "accepted", "rejected", "files", "faults", "fault_count", "notices"):
        assert getattr(again, name) == getattr(records, name)
    for name in ("cells", "blocks", "calibrations"):
        pd.testing.assert_frame_equal(getattr(again, name), getattr(records, name))
    pd.testing.assert_frame_equal(again.rejected_rows(), records.rejected_rows())
    pd.testing.assert_frame_equal(
        again.values("mass", ["block"]), records.values("mass", ["block"])
    )
    assert again.digests == records.digests
    assert set(again.digests) == {"study.toml", "readings.csv", "blocks.csv", "calibrations.csv"}
    save_reduced(again, tmp_path / "copied")
    assert read(reduced=tmp_path / "copied").cells.equals(records.cells)


@pytest.mark.parametrize("name", ["readings.csv", "study.toml", "blocks.csv"])
def test_other_inputs_are_refused(read, folder: Path, tmp_path: Path, name: str) -> None:  # type: ignore[no-untyped-def]
    (folder / "blocks.csv").write_text("block,family\nB1,works\n")
    save_reduced(read(TEXT), tmp_path / "kept")
    before = (folder / name).stat()
    content = (folder / name).read_bytes()
    (folder / name).write_bytes(content.replace(b"1", b"2").replace(b"A study", b"B study"))
    os.utime(folder / name, ns=(before.st_atime_ns, before.st_mtime_ns))
    with pytest.raises(StudyError, match=f"made from other inputs: {name} changed"):
        read(reduced=tmp_path / "kept")
    (folder / name).write_bytes(content)
    assert read(reduced=tmp_path / "kept").accepted == 3


def test_a_file_that_came_or_went_is_a_change(read, folder: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    save_reduced(read(TEXT), tmp_path / "kept")
    (folder / "calibrations.csv").write_text("calibration,gauge,reference,indicated,unit\n")
    with pytest.raises(StudyError, match=r"calibrations\.csv changed"):
        read(reduced=tmp_path / "kept")


def test_a_new_file_in_a_folder_of_parquet_is_a_change(read, folder: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    table = pa.table(
        {"block": ["B1"], "family": ["f"], "quantity": ["mass"], "value": [5.0], "unit": ["kg"]}
    )
    (folder / "readings").mkdir()
    pq.write_table(table, folder / "readings" / "a.parquet")
    save_reduced(read(), tmp_path / "kept")
    pq.write_table(table, folder / "readings" / "b.parquet")
    with pytest.raises(StudyError, match=r"readings/b\.parquet changed"):
        read(reduced=tmp_path / "kept")


def test_what_holds_no_reduction(read, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    records = read(TEXT)
    with pytest.raises(StudyError, match="holds no reduction"):
        read(reduced=tmp_path / "nowhere")
    save_reduced(records, tmp_path / "kept")
    summary = tmp_path / "kept" / "summary.json"
    summary.write_text(json.dumps(json.loads(summary.read_text()) | {"format": 0}))
    with pytest.raises(StudyError, match="of another version"):
        read(reduced=tmp_path / "kept")
    summary.write_text("[]")
    with pytest.raises(StudyError, match="holds no reduction"):
        read(reduced=tmp_path / "kept")


def test_opening_does_not_read_the_readings_again(
    read, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:  # type: ignore[no-untyped-def]
    save_reduced(read(TEXT), tmp_path / "kept")

    def forbidden(*_: object, **__: object) -> None:
        raise AssertionError("the readings were opened again")

    monkeypatch.setattr("workbench.records.loading.open_sheet", forbidden)
    monkeypatch.setattr("workbench.records.intake_pass.Engine", forbidden)
    assert read(reduced=tmp_path / "kept").accepted == 3
    with pytest.raises(AssertionError, match="opened again"):
        read()
