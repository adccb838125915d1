from __future__ import annotations

import math
from pathlib import Path

SETTINGS = '[correlations.iron]\ngauge = "lt1"\nshown = "HLD"\nto = "HB"\nnote = "own iron"\n'
READING = "block,family,quantity,value,unit\nB1,works,hardness,480,HLD\n"


def test_sound_pairs_and_faulty_rows(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "correlations.csv").write_text(
        "Correlation,Shown,Value,Shown uncertainty,Value uncertainty\n"
        "iron,470,205,3,2\n"
        "steel,480,210,,\n"
        "iron,0,210,,\n"
        "iron,480,-1,,\n"
        "iron,much,210,,\n"
        "iron,480,210,-3,\n"
        "iron,485,,,\n"
        "iron,490,214,,\n"
    )
    records = read(READING, settings=SETTINGS)
    assert [(f.file, f.row, f.column, f.code) for f in records.faults] == [
        ("correlations.csv", 8, "value", "missing"),
        ("correlations.csv", 6, "shown", "not_a_number"),
        ("correlations.csv", 7, "shown_uncertainty", "negative"),
        ("correlations.csv", 3, "correlation", "unknown_correlation"),
        ("correlations.csv", 4, "shown", "shown_not_positive"),
        ("correlations.csv", 5, "value", "reference_not_positive"),
    ]
    kept = records.correlations
    assert kept[["row", "shown", "value"]].to_numpy().tolist() == [[2, 470, 205], [9, 490, 214]]
    assert math.isnan(kept["shown_uncertainty"].iloc[1])
    assert "correlations.csv" in records.digests


def test_none_without_the_file(read) -> None:  # type: ignore[no-untyped-def]
    assert read(READING, settings=SETTINGS).correlations.empty
