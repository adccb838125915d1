from __future__ import annotations

import math
from pathlib import Path

import pytest
from pandas.testing import assert_frame_equal

from workbench.records.columns import BLOCKS, CALIBRATIONS, names
from workbench.records.correlations import CORRELATIONS, read_correlations
from workbench.records.sidefiles import read_blocks, read_calibrations
from workbench.records.sources import optional_source

TEXT = (
    "block,family,quantity,value,unit\n"
    "007,works,mass,61.5,kg\nB2,works,mass,61.7,kg\nB3,trophy,mass,62,kg\n"
)


def faults(records) -> list[tuple[str, int | None, str, str]]:  # type: ignore[no-untyped-def]
    return [(fault.file, fault.row, fault.column, fault.code) for fault in records.faults]


def test_blocks_met_with_what_is_said_of_them(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "blocks.csv").write_text(
        "Casting;Family;Condition;Foundry mark;Price;Missing parts;Note\n"
        "007;works;as cast;P;900,50;caps;x\n"
        ";;;;;;\n"
        "B3;trophy;bored;;;;\n"
        "B9;trophy;;;4200;;\n"
    )
    records = read(TEXT)
    assert records.faults == ()
    blocks = records.blocks.set_index("block")
    assert blocks.index.tolist() == ["B3", "007", "B2"]
    assert blocks.loc["007"].tolist() == ["works", "as cast", "P", 900.5, "caps", "x"]
    assert blocks.loc["B3", "condition"] == "bored"
    assert math.isnan(blocks.loc["B3", "price"])
    assert blocks["price"].dtype == "float64"
    (notice,) = [notice for notice in records.notices if notice.code != "part_not_stated"]
    assert (notice.code, "“B9”" in notice.sentence) == ("blocks_not_read", True)


def test_faults_of_blocks(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "blocks.csv").write_text(
        "block,family,price\n"
        "007,works,dear\n"
        ",works,5\n"
        "B2,,5\n"
        "B2,works,-5\n"
        "B2,works\n"
        "B3,works,5\n"
        "B3,works,6\n"
        f"{'B' * 101},works,5\n"
    )
    records = read(TEXT)
    assert sorted(faults(records)) == sorted(
        [
            ("blocks.csv", 2, "price", "not_a_number"),
            ("blocks.csv", 3, "block", "missing"),
            ("blocks.csv", 4, "family", "missing"),
            ("blocks.csv", 5, "price", "negative"),
            ("blocks.csv", 6, "", "ragged_row"),
            ("blocks.csv", 8, "block", "second_row"),
            ("blocks.csv", 9, "block", "too_long"),
            ("blocks.csv", 7, "family", "family_differs"),
        ]
    )
    assert records.fault_count == 8
    assert (records.accepted, records.rejected) == (3, 0)
    assert all("{" not in fault.sentence for fault in records.faults)


def test_calibrations(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "calibrations.csv").write_text(
        "calibration,gauge,material,reference,indicated,unit,reference_uncertainty\n"
        "c1,g1,iron,5.00,5.02,Inch,0.001\n"
        "c1,g1,iron,ten,5.02,mm,\n"
        "c1,g1,iron,5,nan,mm,-1\n"
        "c1,g1,iron,5,6,furlong,\n"
        ",g1,iron,5,6,mm,\n"
        "c2,g1,iron,-5,0,mm,\n"
    )
    records = read(TEXT)
    assert faults(records) == [
        ("calibrations.csv", 6, "calibration", "missing"),
        ("calibrations.csv", 3, "reference", "not_a_number"),
        ("calibrations.csv", 4, "indicated", "not_a_number"),
        ("calibrations.csv", 4, "reference_uncertainty", "negative"),
        ("calibrations.csv", 5, "unit", "unknown_unit"),
        ("calibrations.csv", 7, "reference", "reference_not_positive"),
        ("calibrations.csv", 7, "indicated", "indicated_not_positive"),
    ]
    frame = records.calibrations
    assert frame["calibration"].tolist() == ["c1"]
    assert frame.loc[0, ["reference", "indicated", "unit"]].tolist() == [5.0, 5.02, "in"]
    assert frame["reference_uncertainty"].dtype == "float64"


@pytest.mark.parametrize("name", ["blocks.csv", "calibrations.csv"])
def test_a_missing_column(read, folder: Path, name: str) -> None:  # type: ignore[no-untyped-def]
    (folder / name).write_text("block,calibration,gauge\nB2,c1,g1\n")
    records = read(TEXT)
    assert records.accepted == 3
    assert {fault.code for fault in records.faults} == {"missing_column", "missing"}


def test_without_these_files(read) -> None:  # type: ignore[no-untyped-def]
    records = read(TEXT)
    assert records.blocks["condition"].isna().all()
    assert len(records.calibrations) == 0
    assert records.calibrations["reference"].dtype == "float64"


@pytest.mark.parametrize(
    ("name", "header", "reader"),
    [
        ("blocks.csv", BLOCKS, read_blocks),
        ("calibrations.csv", CALIBRATIONS, lambda source: read_calibrations(source, {})),
        ("correlations.csv", CORRELATIONS, lambda source: read_correlations(source, ())),
    ],
)
def test_no_file_reads_as_one_without_rows(name, header, reader, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / name).write_text(",".join(names(header)) + "\n")
    there, faults = reader(optional_source(folder, name))
    (folder / name).unlink()
    assert_frame_equal(reader(optional_source(folder, name))[0], there, check_exact=True)
    assert faults == []
