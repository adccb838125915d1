from __future__ import annotations

from collections import Counter
from pathlib import Path

import duckdb
import pandas as pd
import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from tests.records.collection.conftest import HEADER, Adder, Reader, Writer, rows
from workbench.errors import StudyError
from workbench.records.collection import adding
from workbench.records.collection.adding import add_readings


def counts(added: adding.Added) -> list[tuple[int, int, int, int, int]]:
    return [(one.rows_in, one.added, one.held, one.struck, one.rejected) for one in added.files]


def tree(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_rows_go_to_parts_by_family_and_year(folder: Path, write: Writer, add: Adder) -> None:
    old = rows("B1", "works", [5.1, 5.2], "2025-12-31")
    new = rows("B2", "works", [5.3], "2026-01-01") + rows("T 1", "trophy/dear", [6])
    undated = rows("B3", "works", [5.4], "last week")
    added = add(write("new.csv", old + new + undated))
    assert counts(added) == [(5, 5, 0, 0, 0)]
    assert added.addition is not None
    assert {name: part.rows for name, part in added.addition.parts.items()} == {
        "family=trophy%2Fdear/year=2026/part.parquet": 1,
        "family=works/year=2025/part.parquet": 2,
        "family=works/year=2026/part.parquet": 1,
        "family=works/year=undated/part.parquet": 1,
    }
    found = duckdb.sql(
        f"select family, year, count(*) from read_parquet('{folder}/readings/*/*/*/*.parquet',"
        " hive_partitioning = true) group by all order by all"
    ).fetchall()
    assert found == [
        ("trophy/dear", "2026", 1),
        *(("works", year, n) for year, n in (("2025", 2), ("2026", 1), ("undated", 1))),
    ]


def test_the_same_file_twice_is_added_once_and_nothing_is_written(
    folder: Path, write: Writer, add: Adder, held: Reader
) -> None:
    file = write("new.csv", rows("B1", "works", [5.1, 5.2, 5.2]))
    assert counts(add(file)) == [(3, 3, 0, 0, 0)]
    before = tree(folder)
    again = add(file)
    assert counts(again) == [(3, 0, 3, 0, 0)]
    assert again.addition is None
    assert tree(folder) == before
    assert held().accepted == 3


def test_a_reading_is_the_same_however_it_is_written(write: Writer, add: Adder) -> None:
    add(write("new.csv", rows("B1", "works", ["5.20"])))
    semicolons = "Serial;Family;What;Reading;Units;Cyl;Position;Rep;Date;Remarks"
    again = write("b.csv", ["B1;works;Wall;5,2;mm;1;0;1;2026-03-01;looked at again"], semicolons)
    assert counts(add(again)) == [(1, 0, 1, 0, 0)]
    other = write("c.csv", rows("B1", "works", ["5.21"], "2026-03-02"))
    assert counts(add(other)) == [(1, 1, 0, 0, 0)]


def test_a_file_that_grew_may_be_added_whole(write: Writer, add: Adder, held: Reader) -> None:
    first = rows("B1", "works", [5.1, 5.2])
    add(write("log.csv", first))
    more = add(write("log.csv", first + rows("B2", "works", [5.3])))
    assert counts(more) == [(3, 1, 2, 0, 0)]
    assert held().accepted == 3


VALUES = st.lists(st.sampled_from(["5.1", "5.2", "5.3"]), min_size=1, max_size=6)


@drawn(st.lists(st.tuples(VALUES, VALUES), min_size=10, max_size=10))
@settings(max_examples=6)  # sixty places in twelve additions, which are what takes time
def test_equal_readings_of_a_place_are_counted(
    tmp_path_factory: pytest.TempPathFactory, twice: list[tuple[list[str], list[str]]]
) -> None:
    """Places read several times without numbers: the collection holds the larger count of each."""
    place = tmp_path_factory.mktemp("study")
    (place / "study.toml").write_text('title = "A study"\n')
    # a place read twice with different values says that repeats are not numbered here
    several = ["0,works,wall_thickness,4.0,mm", "0,works,wall_thickness,4.1,mm"]
    for name, of_blocks in zip(("a.csv", "b.csv"), zip(*twice, strict=True), strict=True):
        lines = [
            f"B{at},works,wall_thickness,{value},mm"
            for at, values in enumerate(of_blocks)
            for value in values
        ]
        text = "\n".join(["block,family,quantity,value,unit", *several, *lines])
        (place / name).write_text(text + "\n")
        add_readings(place, [place / name])
    parts = sorted((place / "readings").rglob("*.parquet"))
    held = pd.concat([pd.read_parquet(part) for part in parts])
    found = {block: Counter(values) for block, values in held.groupby("block")["value"]}
    wanted = {f"B{at}": Counter(a) | Counter(b) for at, (a, b) in enumerate(twice)}
    assert found == wanted | {"0": Counter(["4.0", "4.1"])}


def test_faulty_rows_are_kept_beside_and_counted_until_they_are_mended(
    folder: Path, write: Writer, add: Adder, held: Reader
) -> None:
    good, bad = rows("B1", "works", [5.1, "5.x2", 5.3]), "B1,works,wall_thickness,5.4"
    first = add(write("new.csv", [*good, bad]))
    assert counts(first) == [(4, 2, 0, 0, 2)]
    assert [fault.code for fault in first.faults] == ["not_a_number", "ragged_row"]
    records = held()
    assert (records.rows_in, records.accepted, records.rejected) == (4, 2, 2)
    assert {fault.file for fault in records.faults} == {"new.csv (addition 1)"}
    assert records.rejected_rows()[["row", "code"]].to_numpy().tolist() == [
        [3, "not_a_number"],
        [5, "ragged_row"],
    ]
    assert first.to_mend is not None
    kept = pd.read_csv(first.to_mend, dtype=str, keep_default_na=False)
    assert kept["mends"].tolist() == ["1-1", "1-2"]
    assert kept["value"].tolist() == ["5.x2", ""]
    assert kept["note"].tolist() == ["", bad]
    assert kept["fault"][0] == "new.csv, row 3: value: The value is not a number."
    # the same rows again are faults again, and are not kept a second time
    assert add(write("new.csv", [*good, bad])).addition is None
    archived = pd.read_parquet(first.to_mend.with_suffix(".parquet"))
    assert archived["value"].tolist() == ["5.x2", ""]
    kept.loc[0, "value"] = "5.2"
    kept.to_csv(first.to_mend, index=False)
    second = add(first.to_mend)
    assert counts(second) == [(2, 1, 0, 1, 0)]
    assert second.addition is not None
    assert second.addition.mended == ("1-1", "1-2")
    records = held()
    assert (records.rows_in, records.accepted, records.rejected) == (3, 3, 0)


def test_a_rejected_row_that_is_still_faulty_takes_the_place_of_the_old(
    folder: Path, write: Writer, add: Adder, held: Reader
) -> None:
    first = add(write("new.csv", rows("B1", "works", ["5.x2"])))
    assert first.to_mend is not None
    text = first.to_mend.read_text()
    for at, content in ((2, text), (3, text.replace("1-1", "2-1").replace("5.x2", "5y2"))):
        (folder / "mended.csv").write_text(content)
        add(folder / "mended.csv")
        records = held()
        assert (records.rows_in, records.rejected) == (1, 1)
        assert records.faults[0].file == f"mended.csv (addition {at})"
    (folder / "mended.csv").write_text(text)
    late = add(folder / "mended.csv")
    assert [fault.code for fault in late.faults] == ["not_a_number"]
    (folder / "mended.csv").write_text(text.replace("5.x2", "5.2"))
    assert [fault.code for fault in add(folder / "mended.csv").faults] == ["nothing_to_mend"]


def test_equal_rejected_rows_are_mended_each(write: Writer, add: Adder, held: Reader) -> None:
    first = add(write("new.csv", rows("B1", "works", ["5.x2"]) * 2))
    assert first.to_mend is not None
    text = first.to_mend.read_text().splitlines()
    first.to_mend.write_text("\n".join([*text[:2], text[2].replace("5.x2", "")]) + "\n")
    second = add(first.to_mend)
    assert counts(second) == [(2, 0, 0, 1, 1)]
    assert held().rejected == 1


def test_what_contradicts_the_collection_is_rejected(
    write: Writer, add: Adder, held: Reader
) -> None:
    add(write("a.csv", rows("B1", "works", [5.1, 5.2])))
    other_value = add(write("b.csv", rows("B1", "works", [5.15])))
    assert [(one.code, one.column) for one in other_value.faults] == [("held_otherwise", "repeat")]
    assert "was_value" in other_value.faults[0].sentence
    other_family = add(write("c.csv", rows("B1", "trophy", [5.3, 5.4, 5.5, 5.6, 5.7])))
    assert {one.code for one in other_family.faults} == {"block_family"}
    assert "of family “works”" in other_family.faults[0].sentence
    assert held().accepted == 2


def test_values_keep_their_digits_and_what_they_say(
    folder: Path, write: Writer, add: Adder, held: Reader
) -> None:
    settings = folder / "study.toml"
    settings.write_text(
        settings.read_text() + "[quantities.scale]\nlabel = 'scale'\nkind = 'feature'\n"
        "levels = ['none', 'light', 'heavy']\n"
    )
    header = "block;family;quantity;value;unit;note"
    wall = "B1;works;wall_thickness"
    lines = [f"{wall};5,20;mm;", f"{wall};<2,5;mm;", f"{wall};1.000,25;um;", f"{wall};1,5e1;mm;"]
    file = write("new.csv", [*lines, "B1;works;scale;light;;“so” so"], header)
    add(file)
    stored = pd.concat(
        pd.read_parquet(path) for path in (folder / "readings").rglob("part.parquet")
    )
    assert stored["value"].tolist() == ["light", "5.20", "<2.5", "1000.25", "1.5e1"]
    held_cells = held().cells
    (folder / "readings").rename(folder / "aside")
    file.rename(folder / "readings.csv")
    pd.testing.assert_frame_equal(held().cells, held_cells)


def test_families_that_a_disk_may_not_tell_apart_have_parts_of_their_own(
    write: Writer, add: Adder, held: Reader
) -> None:
    long = "f" * 99
    lines = [rows(f"B{at}", name, [5]) for at, name in enumerate(("é" * 99, "é" * 98 + "è", long))]
    added = add(write("new.csv", [line for of_one in lines for line in of_one]))
    assert added.addition is not None
    assert len(added.addition.parts) == 3
    assert all(len(part) < 255 for path in added.addition.parts for part in path.split("/"))
    assert held().accepted == 3


def test_readings_that_are_no_collection_are_left_alone(
    folder: Path, write: Writer, add: Adder
) -> None:
    file = write("new.csv", rows("B1", "works", [5.1]))
    (folder / "readings.csv").write_text(HEADER + "\n")
    with pytest.raises(StudyError, match=r"are readings\.csv.*rename that file and add it"):
        add(file)
    (folder / "readings.csv").unlink()
    (folder / "readings").mkdir()
    (folder / "readings" / "a.csv").write_text(HEADER + "\n")
    with pytest.raises(StudyError, match="holds files that were not added"):
        add(file)
    (folder / "walls.csv").write_text(HEADER + "\n")
    (folder / "study.toml").write_text('title = "A"\n[readings]\nfile = "walls.csv"\n')
    with pytest.raises(StudyError, match=r"are the file walls\.csv; a collection is a folder"):
        add(file)
    (folder / "study.toml").write_text('title = "A"\n[readings]\nfile = "../out"\n')
    with pytest.raises(StudyError, match="leaves the study folder"):
        add(file)


def test_a_collection_of_another_name_in_a_folder_of_odd_signs(
    tmp_path: Path, write: Writer
) -> None:
    study = tmp_path / "a [1] *?"
    study.mkdir()
    (study / "study.toml").write_text('title = "A"\n[readings]\nfile = "years"\n')
    for at in (1, 2):
        added = add_readings(study, [write("new.csv", rows("B1", "works", [5.1, 5.2, 5.3][:at]))])
        assert counts(added) == [(at, 1, at - 1, 0, 0)]
    assert (study / "years" / "addition-000002").is_dir()


def test_files_that_cannot_be_added_leave_nothing(
    folder: Path, tmp_path: Path, write: Writer, add: Adder
) -> None:
    for content, said in (
        (b"", "empty"),
        (b"PAR1", "holds a Parquet file"),
        (b"sky,sea\n1,2\n", "no column"),
    ):
        (tmp_path / "new.csv").write_bytes(content)
        with pytest.raises(StudyError, match=said):
            add(tmp_path / "new.csv")
    with pytest.raises(StudyError, match="not a file"):
        add(tmp_path / "nothing.csv")
    file = write("good.csv", rows("B1", "works", [5.1]))
    with pytest.raises(StudyError, match="named twice"):
        add(file, file)
    assert not (folder / "readings").exists()


def test_two_files_of_one_name_at_once(
    folder: Path, tmp_path: Path, write: Writer, add: Adder
) -> None:
    for at in ("a", "b"):
        (tmp_path / at).mkdir()
        write(f"{at}/new.csv", rows("B1", "works", [5.1]))
    added = add(tmp_path / "a" / "new.csv", tmp_path / "b" / "new.csv")
    assert [one.name.endswith(f"{at}/new.csv") for one, at in zip(added.files, "ab", strict=True)]
    assert counts(added) == [(1, 1, 0, 0, 0), (1, 0, 0, 0, 1)]
    assert added.faults[0].code == "duplicate_row"


def test_a_row_where_nothing_was_kept_is_rejected_also_of_those_held(
    folder: Path, write: Writer, add: Adder, held: Reader
) -> None:
    add(write("old.csv", rows("B1", "works", ["1.20"])))
    limit = 'quantity = "wall_thickness"\nkept_from = 1.5\nunit = "mm"\nnote = "x"\n'
    with (folder / "study.toml").open("a", encoding="utf-8") as settings:
        settings.write(f"\n[[truncation]]\n{limit}")
    added = add(write("new.csv", rows("B2", "works", ["1.30", "1.60"])))
    assert [(fault.value, fault.code) for fault in added.faults] == [("1.30", "not_kept")]
    assert counts(added) == [(2, 1, 0, 0, 1)]
    outside = [fault.value for fault in held().faults if fault.code == "not_kept"]
    assert outside == ["1.20", "1.30"]
