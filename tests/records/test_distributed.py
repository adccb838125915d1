"""The reduction on Spark gives DuckDB's cells, bit for bit; what is missing is said plainly."""

from __future__ import annotations

import builtins
import hashlib
import importlib.util
import shutil
from pathlib import Path

import pytest

from workbench.errors import StudyError
from workbench.records.engine_choice import EXCHANGE, MASTER
from workbench.records.intake import read_records
from workbench.records.settings import load_settings
from workbench.records.spark import Spark

DATA = Path(__file__).parents[2] / "data"


@pytest.fixture
def spark_here(monkeypatch: pytest.MonkeyPatch) -> None:
    if importlib.util.find_spec("pyspark") is None or shutil.which("java") is None:
        pytest.skip("needs the extra “spark” and Java (Debian: default-jre-headless)")
    monkeypatch.setenv(MASTER, "local[2]")
    monkeypatch.delenv(EXCHANGE, raising=False)


def with_engine(study: Path, folder: Path) -> Path:
    shutil.copytree(study, folder)
    settings = folder / "study.toml"
    settings.write_text(settings.read_text("utf-8") + '\n[engine]\nname = "spark"\n', "utf-8")
    return folder


def digest(frame: object) -> str:
    return hashlib.sha256(frame.to_csv(index=False).encode()).hexdigest()  # type: ignore[attr-defined]


@pytest.mark.filterwarnings("ignore")
def test_cells_and_values_equal_those_of_duckdb(spark_here: None, tmp_path: Path) -> None:
    stated = with_engine(DATA / "demo", tmp_path / "demo")
    for name, study, engine in (("demo", stated, None), ("bench", DATA / "bench", "local[2]")):
        here = read_records(DATA / name, load_settings(DATA / name))
        there = read_records(study, load_settings(study), engine=engine)
        assert len(there.cells) > 0
        assert digest(there.cells) == digest(here.cells)
        for quantity in set(here.cells["quantity"]):
            assert digest(there.values(quantity)) == digest(here.values(quantity))
        assert (there.rows_in, there.fault_count) == (here.rows_in, here.fault_count)


def test_missing_java_is_said(spark_here: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("JAVA_HOME", "/nowhere")
    with pytest.raises(StudyError, match="needs Java"):
        Spark("local")


def test_missing_extra_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def without(name: str, *rest: object, **more: object) -> object:
        if name.startswith("pyspark"):
            raise ImportError(name)
        return real(name, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(StudyError, match="extra “spark”"):
        Spark("local")


def test_a_cluster_that_does_not_answer_is_said(spark_here: None) -> None:
    with pytest.raises(StudyError, match=r"No Spark answers at spark://127\.0\.0\.1:9"):
        Spark("spark://127.0.0.1:9")
