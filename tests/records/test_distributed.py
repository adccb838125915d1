"""The reduction on Spark gives DuckDB's cells, bit for bit; what is missing is said plainly."""

from __future__ import annotations

import builtins
import contextlib
import hashlib
import importlib.util
import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from workbench.errors import StudyError
from workbench.records import distributed, spark
from workbench.records.engine import Engine
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
    # What runs for seconds is compiled quickly, not well: half the processor time.
    monkeypatch.setenv("JAVA_TOOL_OPTIONS", "-XX:TieredStopAtLevel=1")


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


def start(*words: str) -> subprocess.Popen[bytes]:
    """Start a part of a cluster of our own; pyspark brings the programs."""
    home = Path(importlib.util.find_spec("pyspark").origin).parent  # type: ignore[union-attr, arg-type]
    program = [str(home / "bin" / "spark-class"), f"org.apache.spark.deploy.{words[0]}"]
    return subprocess.Popen(
        [*program, "--host", "127.0.0.1", "--webui-port", "0", *words[1:]],
        env=os.environ | {"SPARK_HOME": str(home), "SPARK_LOCAL_IP": "127.0.0.1"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


@pytest.fixture
def master(spark_here: None) -> Iterator[str]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    process = start("master.Master", "--port", str(port))
    until = time.monotonic() + 120
    while True:
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
            break
        assert time.monotonic() < until
        assert process.poll() is None
        time.sleep(0.2)
    yield f"spark://127.0.0.1:{port}"
    process.kill()
    process.wait()


@pytest.mark.filterwarnings("ignore")
def test_a_cluster_gives_the_same_cells_and_one_without_workers_is_said(
    master: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    monkeypatch.setenv(EXCHANGE, str(shared))
    study, settings = DATA / "oxide", load_settings(DATA / "oxide")
    with monkeypatch.context() as hurried:
        hurried.setattr(spark, "WORKER_SECONDS", 1.0)
        with pytest.raises(
            StudyError, match=r"No worker of spark://127.* took the work within 1 s"
        ):
            read_records(study, settings, engine=master)
    work = str(tmp_path / "work")
    worker = start("worker.Worker", "--cores", "1", "--memory", "1g", "--work-dir", work, master)
    try:
        there = read_records(study, settings, engine=master)
    finally:
        worker.terminate()
        worker.wait()
    assert digest(there.cells) == digest(read_records(study, settings).cells)
    assert list(shared.iterdir()) == []


def test_what_spark_fails_at_is_said_in_a_line(spark_here: None, tmp_path: Path) -> None:
    """A damaged file, a sum past 64 bits, and Spark itself killed: each one sentence."""
    program = Path(__file__).with_name("failing_spark.py")
    done = subprocess.run(
        [sys.executable, str(program), str(tmp_path)], capture_output=True, text=True, check=True
    )
    damaged, overflow, lost = done.stdout.splitlines()
    assert damaged.startswith("Spark failed while it read damaged.parquet, and nothing was written")
    assert "a sum does not fit 64 bits" in overflow
    assert "the connection to it was lost; start the command again" in lost
    assert "Traceback" not in done.stderr
    assert "ERROR" not in done.stderr


def test_a_cluster_that_does_not_let_us_in_is_said(spark_here: None) -> None:
    """What Spark says of itself after a master that asks for a password has turned it away."""
    from py4j.protocol import Py4JError

    with (
        pytest.raises(StudyError, match=r"as it started.*: it is gone, or did not let this"),
        spark._said_plainly("as it started"),
    ):
        raise Py4JError("Cannot call methods on a stopped SparkContext.")


def test_cells_that_lack_a_reading_are_refused(tmp_path: Path) -> None:
    with Engine(tmp_path, passing=True) as engine:
        engine.run("create table cells as select 2 as n")
        engine.run("create table accepted as select unnest([1, 2, 3]) as micro")
        with pytest.raises(StudyError, match="was sent 3 readings and its cells hold 2"):
            distributed.check_whole(engine)


HOLDER = """
import sys, time
from pathlib import Path
from workbench.records.distributed import exchange
with exchange(Path(sys.argv[1])) as folder:
    (folder / "accepted.parquet").write_text("half")
    print(folder, flush=True)
    time.sleep(600)
"""


@pytest.mark.skipif(os.name != "posix", reason="folders are locked on POSIX systems alone")
def test_what_a_killed_process_left_in_the_shared_folder_goes(tmp_path: Path) -> None:
    """That of a living one stays, and so does that of another machine."""
    other = tmp_path / "workbench-0123456789ab-x1"
    other.mkdir()
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(tmp_path)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    left = Path(process.stdout.readline().strip())
    for folder in (left, other):
        os.utime(folder, (0, 0))
    with distributed.exchange(tmp_path) as own:
        assert {left, other, own} == set(tmp_path.iterdir())
    process.kill()
    process.wait()
    process.stdout.close()
    with distributed.exchange(tmp_path) as own:
        assert {other, own} == set(tmp_path.iterdir())
    assert list(tmp_path.iterdir()) == [other]


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
