from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import duckdb
import pyarrow as pa
import pytest

from workbench.errors import StudyError
from workbench.records.engine import THREADS_AT_MOST, Engine


def test_what_a_batch_raises_is_raised(tmp_path: Path) -> None:
    """An error while a file is read reaches the caller as itself, not as one of the engine."""
    schema = pa.schema([("a", pa.string())])

    def batches() -> Iterator[pa.RecordBatch]:
        yield pa.record_batch({"a": ["x"]})
        raise StudyError("the file ends here")

    with Engine(tmp_path, passing=True) as engine:
        engine.run("create table t (a varchar)")
        with pytest.raises(StudyError, match="the file ends here"):
            engine.append("t", "a", schema, batches())
        assert engine.rows("select count(*) from t") == [(0,)]


def test_tables_stay_on_disk_unless_passing(tmp_path: Path) -> None:
    for passing, found in ((True, False), (False, True)):
        place = tmp_path / str(passing)
        place.mkdir()
        with Engine(place, passing=passing) as engine:
            engine.run("create table t as select 1 as a")
            engine.keep("u", "select a + 1 as a from t")
            assert engine.frame("select a from u")["a"].tolist() == [2]
        assert (place / "readings.db").exists() is found
    with Engine(tmp_path / "False") as engine:
        assert engine.rows("select a from u") == [(2,)]


def test_a_machine_of_many_processors_is_given_four_threads(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each thread holds rows of its own, beside what the limit counts."""
    connect = duckdb.connect

    def large(where: str, config: dict[str, Any]) -> duckdb.DuckDBPyConnection:
        return connect(where, config={"threads": 32} | config)

    monkeypatch.setattr(duckdb, "connect", large)
    for asked, given in ((None, THREADS_AT_MOST), (6, 6)):
        with Engine(tmp_path, passing=True, threads=asked) as engine:
            assert engine.rows("select current_setting('threads')") == [(given,)]


def test_the_memory_limit_and_threads_are_set(tmp_path: Path) -> None:
    with Engine(tmp_path, passing=True, memory_limit_mb=100, threads=1) as engine:
        limit, threads = engine.rows(
            "select current_setting('memory_limit'), current_setting('threads')"
        )[0]
    assert limit.startswith("95")  # 100 MB are 95.3 MiB
    assert threads == 1


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="cannot start"):
        Engine(tmp_path / "nowhere")


def test_text_comes_back_as_text(tmp_path: Path) -> None:
    with Engine(tmp_path, passing=True) as engine:
        frame = engine.frame("select 'a' as a, '' as b, null::varchar as c, 1 as d")
    assert [str(kind) for kind in frame.dtypes] == ["str", "str", "str", "int32"]
