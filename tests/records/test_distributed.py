"""The reduction on Spark gives DuckDB's cells, bit for bit; what is missing is said plainly."""

from __future__ import annotations

import builtins
import hashlib
import importlib.util
import shutil
from pathlib import Path

import pytest

from workbench.errors import StudyError
from workbench.records.intake import read_records
from workbench.records.settings import load_settings
from workbench.records.spark import EXCHANGE, MASTER, Spark, address_given

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
    for name in ("demo", "bench"):
        here = read_records(DATA / name, load_settings(DATA / name))
        study = with_engine(DATA / name, tmp_path / name)
        there = read_records(study, load_settings(study))
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


@pytest.mark.parametrize("address", ["http://x", "spark://", "spark://h", "local[x]", "yarn"])
def test_an_address_must_be_one(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(MASTER, address)
    with pytest.raises(StudyError, match="write local"):
        address_given()


def test_a_cluster_needs_a_shared_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(MASTER, "spark://host:7077")
    monkeypatch.delenv(EXCHANGE, raising=False)
    with pytest.raises(StudyError, match="every worker see under one path"):
        address_given()
    monkeypatch.setenv(EXCHANGE, str(tmp_path / "none"))
    with pytest.raises(StudyError, match="not a folder"):
        address_given()
