from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from tests.records.collection.conftest import HEADER, Adder, Reader, Writer, rows
from workbench.records.store import Records

WAS_VALUE = f"{HEADER},was_value"


def walls(records: Records) -> list[tuple[str, str, str, float]]:
    """Give the readings that count: block, bore, station and value."""
    cells = records.cells
    values = cells["s1"] / cells["n"] * cells["step"]
    named = zip(cells["block"], cells["bore"], cells["station"], values.round(9), strict=True)
    return sorted(named)


def test_a_value_is_corrected_and_the_old_one_is_kept(
    folder: Path, write: Writer, add: Adder, held: Reader
) -> None:
    add(write("new.csv", rows("B1", "works", [5.1, 52, 5.3])))
    right = "B1,works,wall_thickness,5.2,mm,1,1,1,2026-03-01,52.0"
    added = add(write("fix.csv", [right], WAS_VALUE))
    assert not added.faults
    assert walls(held()) == [("B1", "1", "0", 5.1), ("B1", "1", "1", 5.2), ("B1", "1", "2", 5.3)]
    assert held().accepted == 3
    (notice,) = (one for one in held().notices if one.code == "collection")
    assert "1 reading corrected or struck out since do not count" in notice.sentence
    first = pd.read_parquet(next((folder / "readings" / "addition-000001").rglob("part.parquet")))
    assert first["value"].tolist() == ["5.1", "52", "5.3"]
    # the reading that was corrected is none any more, and the new one may be corrected again
    gone = add(write("fix.csv", [right.replace("5.2,mm", "5.25,mm")], WAS_VALUE))
    assert [one.code for one in gone.faults] == ["nothing_to_correct"]
    again = right.replace("5.2,mm", "5.25,mm").replace("52.0", "5.2")
    assert not add(write("fix.csv", [again], WAS_VALUE)).faults
    assert walls(held())[1] == ("B1", "1", "1", 5.25)
    # and a file that holds what was corrected is not mistaken for news
    late = add(write("new.csv", rows("B1", "works", [5.1, 52, 5.3])))
    assert [one.code for one in late.faults] == ["held_otherwise"]


@pytest.mark.parametrize(
    ("column", "right", "wrong"),
    [
        ("block", "B2", "B1"),
        ("family", "trophy", "works"),
        ("bore", "2", "1"),
        ("station", "90", "0"),
        ("unit", "in", "mm"),
        ("measured_on", "2025-03-01", "2026-03-01"),
        ("quantity", "deck_thickness", "wall_thickness"),
    ],
)
def test_any_column_is_corrected(
    write: Writer, add: Adder, held: Reader, column: str, right: str, wrong: str
) -> None:
    old = dict(zip(HEADER.split(","), rows("B1", "works", [0.5])[0].split(","), strict=True))
    add(write("new.csv", [",".join(old.values())]))
    assert old[column] == wrong
    fixed = ",".join((old | {column: right}).values())
    added = add(write("fix.csv", [f"{fixed},{wrong}"], f"{HEADER},was_{column}"))
    assert not added.faults
    assert added.files[0].added == 1
    cells = held().cells
    assert len(cells) == 1
    if column != "measured_on":
        assert cells[column].tolist() == [right]


def test_a_reading_is_struck_out(write: Writer, add: Adder, held: Reader) -> None:
    add(write("new.csv", rows("B1", "works", [5.1, 5.2])))
    strike = "B1,works,wall_thickness,,mm,1,1,1,2026-03-01,5.2"
    added = add(write("fix.csv", [strike], WAS_VALUE))
    assert [(one.rows_in, one.added, one.struck, one.rejected) for one in added.files] == [
        (1, 0, 1, 0)
    ]
    assert walls(held()) == [("B1", "1", "0", 5.1)]
    twice = add(write("fix.csv", [strike], WAS_VALUE))
    assert [one.code for one in twice.faults] == ["nothing_to_correct"]
    assert walls(held()) == [("B1", "1", "0", 5.1)]


def test_of_equal_readings_one_is_corrected(write: Writer, add: Adder, held: Reader) -> None:
    header = "block,family,quantity,value,unit"
    wall = "B1,works,wall_thickness"
    values = ("5.0", "5.1", "5.1", "5.1")
    add(write("new.csv", [f"{wall},{value},mm" for value in values], header))
    fix = [f"{wall},5.2,mm,5.1", f"{wall},,mm,5.1"]
    assert not add(write("fix.csv", fix, f"{header},was_value")).faults
    (cell,) = held().cells.itertuples()
    assert (cell.n, cell.s1) == (3, 50 + 51 + 52)
    more = [f"{wall},5.3,mm,5.1", f"{wall},5.4,mm,5.1"]
    faults = add(write("fix.csv", more, f"{header},was_value")).faults
    assert [(one.row, one.code) for one in faults] == [(3, "nothing_to_correct")]


def test_a_whole_block_changes_its_family_and_a_part_of_it_does_not(
    write: Writer, add: Adder, held: Reader
) -> None:
    add(write("new.csv", rows("B1", "works", [5.1, 5.2])))
    header = f"{HEADER},was_family"
    fix = [f"{line},works" for line in rows("B1", "trophy", [5.1, 5.2])]
    part = add(write("part.csv", fix[:1], header))
    assert [one.code for one in part.faults] == ["block_family"]
    assert set(held().cells["family"]) == {"works"}
    assert held().accepted == 2
    assert not add(write("whole.csv", fix, header)).faults
    assert set(held().cells["family"]) == {"trophy"}


def test_a_correction_that_is_rejected_leaves_the_old_reading(
    write: Writer, add: Adder, held: Reader
) -> None:
    """Row 3 takes the place that row 2 was to free; as row 2 is rejected, so is row 3."""
    add(write("new.csv", rows("B1", "works", [5.1, 5.2])))
    fix = [
        "B1,works,wall_thickness,5.3,mm,1,1,1,2026-03-01,5.1,0",
        "B1,works,wall_thickness,5.15,mm,1,0,1,2026-03-01,,",
        "B1,works,wall_thickness,x,mm,1,1,1,2026-03-01,5.2,",
    ]
    added = add(write("fix.csv", fix, f"{HEADER},was_value,was_station"))
    assert [(one.row, one.code) for one in added.faults] == [
        *((2, "held_otherwise"), (3, "held_otherwise"), (4, "not_a_number"))
    ]
    assert walls(held()) == [("B1", "1", "0", 5.1), ("B1", "1", "1", 5.2)]


def test_a_correction_to_what_is_held_is_told_to_strike_out(
    write: Writer, add: Adder, held: Reader
) -> None:
    add(write("new.csv", rows("B1", "works", [5.1, 5.1])))
    fix = ["B1,works,wall_thickness,5.1,mm,1,0,1,2026-03-01,1"]
    (fault,) = add(write("fix.csv", fix, f"{HEADER},was_station")).faults
    assert fault.code == "already_held"
    assert "leave “value” empty" in fault.sentence
    assert held().accepted == 2


def test_a_file_of_corrections_may_hold_new_readings_and_its_own_spelling(
    write: Writer, add: Adder, held: Reader
) -> None:
    add(write("new.csv", rows("B1", "works", [5.1, 52])))
    header = "Serial;Type;What;Reading;Units;Cyl;Position;Rep;Date;Remarks;Was reading"
    lines = [
        "B1;works;Wall;5,2;mm;1;1;1;2026-03-01;a slip of the mark;52,0",
        "B2;works;Wall;5,4;mm;1;0;1;2026-03-02;;",
    ]
    added = add(write("april.csv", lines, header))
    assert not added.faults
    assert not [one for one in added.notices if one.code == "unknown_column"]
    assert walls(held()) == [("B1", "1", "0", 5.1), ("B1", "1", "1", 5.2), ("B2", "1", "0", 5.4)]


def test_a_reading_of_which_only_a_limit_is_known(write: Writer, add: Adder, held: Reader) -> None:
    add(write("new.csv", rows("B1", "works", ["<2.5", 5.2])))
    fix = ["B1,works,wall_thickness,2.4,mm,1,0,1,2026-03-01,<2.5"]
    assert not add(write("fix.csv", fix, WAS_VALUE)).faults
    assert walls(held()) == [("B1", "1", "0", 2.4), ("B1", "1", "1", 5.2)]
    assert set(held().cells["contact"]) == {"good"}
