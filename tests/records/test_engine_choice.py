"""The engine asked for: names and addresses that are ones, and what a cluster needs beside them."""

from __future__ import annotations

from pathlib import Path

import pytest

from workbench.errors import StudyError
from workbench.records.engine_choice import (
    EXCHANGE,
    LOCAL,
    MASTER,
    EngineAsked,
    engine_asked,
    host_and_port,
    spark_place,
)

NO_ADDRESSES = ["http://x", "spark://", "spark://h", "local[x]", "yarn", "local\n", ""]


def test_an_engine_is_asked_for_by_name_or_address() -> None:
    assert engine_asked("duckdb") == EngineAsked(name="duckdb")
    assert engine_asked("spark") == EngineAsked(name="spark")
    for address in ("local", "local[*]", "local[16]", "spark://head-1.shop:7077"):
        assert engine_asked(address) == EngineAsked(name="spark", address=address)
    assert host_and_port("spark://head-1.shop:7077") == ("head-1.shop", 7077)
    assert host_and_port("local[2]") is None


@pytest.mark.parametrize("text", NO_ADDRESSES)
def test_another_engine_is_refused(text: str) -> None:
    with pytest.raises(StudyError, match="There is no engine"):
        engine_asked(text)


@pytest.mark.parametrize("address", NO_ADDRESSES[:-1])
def test_an_address_must_be_one(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(MASTER, address)
    with pytest.raises(StudyError, match="write local"):
        spark_place(None)


def test_what_is_asked_for_comes_before_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(EXCHANGE, raising=False)
    monkeypatch.delenv(MASTER, raising=False)
    assert spark_place(None) == (LOCAL, None)
    monkeypatch.setenv(MASTER, "local[3]")
    assert spark_place(None) == ("local[3]", None)
    assert spark_place("local[2]") == ("local[2]", None)


@pytest.mark.parametrize("asked", [None, "spark://host:7077"])
def test_a_cluster_needs_a_shared_folder(
    asked: str | None, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(MASTER, "spark://host:7077")
    monkeypatch.delenv(EXCHANGE, raising=False)
    with pytest.raises(StudyError, match="every worker see under one path"):
        spark_place(asked)
    monkeypatch.setenv(EXCHANGE, str(tmp_path / "none"))
    with pytest.raises(StudyError, match="not a folder"):
        spark_place(asked)
    monkeypatch.setenv(EXCHANGE, str(tmp_path))
    assert spark_place(asked) == ("spark://host:7077", tmp_path.resolve())
