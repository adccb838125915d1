"""The same rows in a file, a folder and a database are the same study, judged alike."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import duckdb
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from workbench.records.collection.adding import add_readings
from workbench.study import open_study

DEMO = Path(__file__).parents[2] / "data" / "demo"
CLAIM = "trophy-walls-thicker"
PARTS = 3


def rows() -> pd.DataFrame:
    return pd.read_csv(DEMO / "readings.csv", dtype=str, keep_default_na=False)


def parts() -> list[pd.DataFrame]:
    every = rows()
    size = len(every) // PARTS + 1
    return [every[at : at + size] for at in range(0, len(every), size)]


def folder_of_csv(study: Path) -> None:
    (study / "readings").mkdir()
    for at, part in enumerate(parts()):
        part.to_csv(study / "readings" / f"{at}.csv", index=False)


def folder_of_both(study: Path) -> None:
    first, second, third = parts()
    for year in ("2025", "2026"):
        (study / "readings" / year).mkdir(parents=True)
    (study / "readings" / "_notes.csv").write_text("passed over\n")
    first.to_csv(study / "readings" / "2025" / "a.CSV", index=False)
    for name, part in (("b", second), ("c", third)):
        table = pa.Table.from_pandas(part, preserve_index=False)
        pq.write_table(table, study / "readings" / "2026" / f"{name}.parquet")


def collection(study: Path) -> None:
    """Add the parts one after another, as they would come in."""
    for at, part in enumerate(parts()):
        part.to_csv(study / f"{at}.csv", index=False)
        add_readings(study, [study / f"{at}.csv"])


def table_of_a_database(study: Path) -> None:
    with duckdb.connect(str(study / "readings.duckdb")) as connection:
        connection.register("given", pa.Table.from_pandas(rows(), preserve_index=False))
        connection.execute("create table inspection as select * from given")


@pytest.fixture(scope="module")
def from_the_file() -> dict[str, object]:
    return open_study(DEMO).judge(only=CLAIM).to_json()


@pytest.mark.parametrize(
    "lay_out", [folder_of_csv, folder_of_both, table_of_a_database, collection]
)
def test_the_verdict_is_the_same(
    tmp_path: Path, lay_out: Callable[[Path], None], from_the_file: dict[str, object]
) -> None:
    study = tmp_path / "demo"
    shutil.copytree(DEMO, study, ignore=shutil.ignore_patterns("readings.csv"))
    lay_out(study)
    assert open_study(study).judge(only=CLAIM).to_json() == from_the_file


def test_a_part_with_other_columns_is_named_and_the_rest_is_read(tmp_path: Path) -> None:
    study = tmp_path / "demo"
    shutil.copytree(DEMO, study, ignore=shutil.ignore_patterns("readings.csv"))
    (study / "readings").mkdir()
    first, second, _ = parts()
    first.to_csv(study / "readings" / "a.csv", index=False)
    second.drop(columns="family").to_csv(study / "readings" / "b.csv", index=False)
    opened = open_study(study)
    (fault,) = (one for one in opened.records.faults if one.code == "missing_column")
    assert (fault.file, fault.column) == ("readings/b.csv", "family")
    counts = {item.file: item for item in opened.records.files}
    assert counts["readings/b.csv"].accepted == 0
    assert counts["readings/a.csv"].accepted > 0
