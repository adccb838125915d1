"""Letters in place of names: no name is left, and every number stays."""

from __future__ import annotations

import csv
import shutil
import tomllib
from pathlib import Path

import pandas as pd
import pytest

from workbench.errors import RunError
from workbench.records.collection.adding import add_readings
from workbench.runs.article_run import with_letters
from workbench.runs.letters import kind_of_column, lettered
from workbench.runs.new_study import new_study
from workbench.study import open_study

NAMES = ("Ada Miller", "Bo Carver", "Cy Smith", "Old Joe at the market", "Uncle Dan")


@pytest.fixture
def study(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    new_study(folder)
    with (folder / "readings.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for number, row in enumerate(rows):
        row["operator"] = NAMES[number % 2]
        row["note"] = NAMES[2] if number % 3 == 0 else ""
        row["Sold by"] = NAMES[3]
    with (folder / "readings.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    claims = (folder / "claims.toml").read_text(encoding="utf-8")
    claims = "\n".join(
        f'heard_from = "{NAMES[4]}"' if line.startswith("heard_from") else line
        for line in claims.splitlines()
    )
    (folder / "claims.toml").write_text(f"# {NAMES[4]} said it\n{claims}\n", encoding="utf-8")
    return folder


def everything(folder: Path) -> str:
    return "\n".join(
        path.read_bytes().decode("utf-8", "replace") for path in folder.rglob("*") if path.is_file()
    )


def test_no_name_is_left_and_every_number_stays(study: Path, tmp_path: Path) -> None:
    assert all(name in everything(study) for name in NAMES)
    opened = open_study(study)
    judged = opened.judge()
    copy = with_letters(opened, judged, tmp_path / "copy")
    assert not any(name in everything(tmp_path / "copy") for name in NAMES)
    assert copy.records.accepted == opened.records.accepted
    for one, other in zip(judged.verdicts, copy.judge().verdicts, strict=True):
        assert (one.outcome, one.estimate, one.p_value) == (
            other.outcome, other.estimate, other.p_value,
        )  # fmt: skip
        assert other.heard_from in ("", "source A")


def test_a_name_keeps_its_letter_from_file_to_file(tmp_path: Path) -> None:
    source = tmp_path / "s"
    source.mkdir()
    header = "block,family,quantity,value,unit,operator\n"
    (source / "readings.csv").write_text(
        f"{header}B1,f,mass,1.0,kg,Zoe\nB2,f,mass,1.5,kg,Al\nB3,f,mass,1.7,kg,Zoe\n", "utf-8"
    )
    (source / "study.toml").write_text('title = "T"\n[families.f]\nseller = "Zoe"\n', "utf-8")
    lettered(source, ["readings.csv", "study.toml"], tmp_path / "t")
    rows = list(csv.DictReader((tmp_path / "t/readings.csv").read_text("utf-8").splitlines()))
    assert [row["operator"] for row in rows] == ["A", "B", "A"]
    stated = tomllib.loads((tmp_path / "t/study.toml").read_text(encoding="utf-8"))
    assert stated["families"]["f"]["seller"] == "A"


@pytest.mark.parametrize("ending", ["xlsx", "parquet"])
def test_other_kinds_of_files_are_rewritten_too(study: Path, tmp_path: Path, ending: str) -> None:
    frame = pd.read_csv(study / "readings.csv", dtype=str, keep_default_na=False)
    frame["value"] = frame["value"].astype(float)
    (study / "readings.csv").unlink()
    if ending == "xlsx":
        frame.to_excel(study / "readings.xlsx", index=False)
    else:
        frame.to_parquet(study / "readings.parquet", index=False)
    opened = open_study(study)
    copy = with_letters(opened, opened.judge(), tmp_path / "copy")
    assert copy.records.accepted == opened.records.accepted > 0
    assert set(copy.records.cells["operator"]) == {"A", "B"}


def test_a_collection_is_rewritten_and_stays_whole(study: Path, tmp_path: Path) -> None:
    """Two additions: rejected rows and a correction hold names too."""
    first = (study / "readings.csv").rename(tmp_path / "first.csv")
    frame = pd.read_csv(first, dtype=str, keep_default_na=False).drop(columns="Sold by")
    frame.loc[3, "value"] = "thick"
    frame.loc[4, "operator"] = "Ada\u200bMiller"
    frame.to_csv(first, index=False)
    first.write_text(f"{first.read_text('utf-8')}B9,{NAMES[2]}\n", "utf-8")
    add_readings(study, [first])
    fix = frame.iloc[[0]].assign(was_operator=NAMES[0], operator=NAMES[1], note=NAMES[2])
    fix.to_csv(tmp_path / "fix.csv", index=False)
    assert add_readings(study, [tmp_path / "fix.csv"]).fault_count == 0
    opened = open_study(study)
    assert opened.records.rejected == 3
    assert all(name in everything(study / "readings") for name in NAMES[1:3])
    copy = with_letters(opened, opened.judge(), tmp_path / "copy")
    assert not any(name in everything(tmp_path / "copy") for name in (*NAMES, "\u200b"))
    assert (copy.records.accepted, copy.records.rejected) == (opened.records.accepted, 3)


def test_a_fault_that_hangs_on_a_name_is_refused(study: Path, tmp_path: Path) -> None:
    copy = tmp_path / "two"
    shutil.copytree(study, copy)
    rows = (copy / "readings.csv").read_text(encoding="utf-8").splitlines()
    header = rows[0].split(",")
    for number in range(1, len(rows), 2):  # a name with a hidden sign has its row rejected
        cells = rows[number].split(",")
        cells[header.index("operator")] = "Ada\u200bMiller"
        rows[number] = ",".join(cells)
    (copy / "readings.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    opened = open_study(copy)
    assert opened.records.rejected
    with pytest.raises(RunError, match="hangs on a name"):
        with_letters(opened, opened.judge(), tmp_path / "copy")


def test_headings_are_known_by_their_synonyms() -> None:
    assert kind_of_column("Technician") == "operator"
    assert kind_of_column("Remarks") == "note"
    assert kind_of_column("e mail") == ""
    assert kind_of_column("block") == ""
